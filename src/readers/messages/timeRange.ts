import type { Nanoseconds } from "../../foundation/units.ts";
import type { LogConnection, LogPart, MessageTarget } from "./LogPart.ts";
import { secondsAfter } from "./SignalTable.ts";

/** First and last of several stretches of time, in whatever order; null where there are none. */
export function timeRange(
  stretches: Iterable<{ readonly start: Nanoseconds | null; readonly end: Nanoseconds | null }>,
): {
  start: Nanoseconds | null;
  end: Nanoseconds | null;
} {
  let first: Nanoseconds | null = null;
  let last: Nanoseconds | null = null;
  for (const { start, end } of stretches) {
    if (start !== null && (first === null || start < first)) first = start;
    if (end !== null && (last === null || end > last)) last = end;
  }
  return { start: first, end: last };
}

/**
 * First and last time of what lies in some chunks, where a look into a chunk costs: they are looked into in the order
 * of their own times, until the next can bring nothing earlier (or later).
 *
 * @param look  first and last time in one chunk
 */
export function rangeWithin<Chunk extends { readonly start: Nanoseconds; readonly end: Nanoseconds }>(
  chunks: readonly Chunk[],
  look: (chunk: Chunk) => { readonly start: Nanoseconds; readonly end: Nanoseconds } | null,
): { start: Nanoseconds | null; end: Nanoseconds | null } {
  let start: Nanoseconds | null = null;
  for (const chunk of [...chunks].sort((a, b) => compare(a.start, b.start))) {
    if (start !== null && chunk.start >= start) break;
    const range = look(chunk);
    if (range !== null && (start === null || range.start < start)) start = range.start;
  }
  let end: Nanoseconds | null = null;
  for (const chunk of [...chunks].sort((a, b) => compare(b.end, a.end))) {
    if (end !== null && chunk.end <= end) break;
    const range = look(chunk);
    if (range !== null && (end === null || range.end > end)) end = range.end;
  }
  return { start, end };
}

function compare(a: Nanoseconds, b: Nanoseconds): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

/** Seconds after `start` of instants kept as whole seconds and nanoseconds (ROS 1). */
export function clockOfSeconds(start: Nanoseconds): (sec: number, nsec: number) => number {
  const startSec = Number(start / 1_000_000_000n);
  const startNsec = Number(start % 1_000_000_000n);
  return (sec, nsec) => secondsAfter(sec, nsec, startSec, startNsec);
}

/**
 * Seconds after `start` of instants kept as nanoseconds in two words, the high one first.
 *
 * The difference is exact in nanoseconds up to 104 days and then rounded once, as that of the other clock.
 */
export function clockOfWords(start: Nanoseconds): (high: number, low: number) => number {
  const startHigh = Number(start >> 32n);
  const startLow = Number(start & 0xffff_ffffn);
  return (high, low) => ((high - startHigh) * 4_294_967_296 + (low - startLow)) / 1e9;
}

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
