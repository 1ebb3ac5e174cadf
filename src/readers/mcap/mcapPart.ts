import { clockOfWords } from "../messages/clocks.ts";
import { joinedPart } from "../messages/joinedPart.ts";
import type { LogPart, Wanted } from "../messages/LogPart.ts";
import { timeRange } from "../messages/timeRange.ts";
import type { McapLayout } from "./mcapLayout.ts";
import { openMcap } from "./openMcap.ts";
import { readMessages } from "./readMessages.ts";

/**
 * An MCAP file as a part of a log.
 *
 * @throws LogError  code `log-unreadable`: see `openMcap`
 */
export async function mcapPart(path: string): Promise<LogPart> {
  const { file, layouts, notes } = await openMcap(path);
  const [first, ...others] = layouts;
  if (others.length === 0) return { ...partOf(path, first), notes: [...first.notes, ...notes] };
  const parts = layouts.map((layout) => partOf(`${path} from byte ${layout.start}`, layout));
  return { ...joinedPart(path, parts, notes), bytes: file.bytes, close: () => file.close() };
}

function partOf(path: string, layout: McapLayout): LogPart {
  const { file, chunks, connections, counts, notes } = layout;
  const messagesOf = (ids: ReadonlySet<number>, wanted?: Wanted): number => {
    let sum = 0;
    for (const id of ids) {
      if (wanted === undefined) sum += counts.get(id) ?? 0;
      else for (const chunk of chunks) if (wanted(chunk.start, chunk.end)) sum += chunk.channels.get(id)?.count ?? 0;
    }
    return sum;
  };
  return {
    path,
    bytes: file.bytes,
    connections,
    ...timeRange(chunks),
    notes,
    compression: () =>
      [...new Set(chunks.map(({ compression }) => (compression === "" ? "none" : compression)))].sort(),
    messagesOf,
    rangeOf: (ids) => timeRange(chunks.flatMap(({ channels }) => [...ids].flatMap((id) => channels.get(id) ?? []))),
    readMessages: (targets, wanted) => readMessages(layout, targets, wanted),
    clock: clockOfWords,
    publication: (start) => {
      const clock = clockOfWords(start);
      // the last eight bytes of a message's record before its data
      return (view, at) => clock(view.getUint32(at - 4, true), view.getUint32(at - 8, true));
    },
    close: () => file.close(),
  };
}
