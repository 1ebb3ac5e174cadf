import type { LogConnection, LogPart, MessageTarget } from "./LogPart.ts";
import { timeRange } from "./timeRange.ts";

/**
 * The files of one bag, or several that lie in one, as one part: their connections numbered again, their messages in the
 * order of the files.
 *
 * @param path   the bag's folder, or the file
 * @param notes  what is to be said besides what the files tell
 */
export function joinedPart(path: string, parts: readonly LogPart[], notes: readonly string[]): LogPart {
  const connections = new Map<number, LogConnection>();
  // number in the whole -> number in each file
  const own: ReadonlyMap<number, number>[] = parts.map((part) => {
    const numbers = new Map<number, number>();
    for (const connection of part.connections.values()) {
      const id = connections.size;
      connections.set(id, { ...connection, id });
      numbers.set(id, connection.id);
    }
    return numbers;
  });
  const inPart = (k: number, ids: ReadonlySet<number>): ReadonlySet<number> =>
    new Set([...own[k]!].flatMap(([id, number]) => (ids.has(id) ? [number] : [])));
  const named = (part: LogPart, note: string): string =>
    parts.length === 1 ? note : `${part.path.split(/[/\\]/).at(-1)}: ${note}`;
  return {
    path,
    bytes: parts.reduce((sum, part) => sum + part.bytes, 0),
    connections,
    ...timeRange(parts),
    compression: () => [...new Set(parts.flatMap((part) => part.compression()))].sort(),
    notes: [...notes, ...parts.flatMap((part) => part.notes.map((note) => named(part, note)))],
    messagesOf: (ids, wanted) => parts.reduce((sum, part, k) => sum + part.messagesOf(inPart(k, ids), wanted), 0),
    rangeOf: (ids) => timeRange(parts.map((part, k) => part.rangeOf(inPart(k, ids)))),
    readMessages: async (targets, wanted) => {
      const found: string[] = [];
      for (const [k, part] of parts.entries()) {
        const within = new Map<number, MessageTarget>();
        for (const [id, number] of own[k]!) {
          const target = targets.get(id);
          if (target !== undefined) within.set(number, target);
        }
        if (within.size === 0) continue;
        found.push(...(await part.readMessages(within, wanted)).map((note) => named(part, note)));
      }
      return found;
    },
    unverified: () => parts.reduce((sum, part) => sum + (part.unverified?.() ?? 0), 0),
    // all storages of a bag keep nanoseconds in two words
    clock: parts[0]!.clock,
    ...(parts.every((part) => part.publication !== undefined) ? { publication: parts[0]!.publication! } : {}),
    close: () => {
      for (const part of parts) part.close();
    },
  };
}
