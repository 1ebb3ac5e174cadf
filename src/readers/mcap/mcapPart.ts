import type { Nanoseconds } from "../../foundation/units.ts";
import { clockOfWords } from "../messages/clocks.ts";
import { joinedPart } from "../messages/joinedPart.ts";
import type { LogPart, Wanted } from "../messages/LogPart.ts";
import { rangeWithin, timeRange } from "../messages/timeRange.ts";
import { indexedCount, indexedRange } from "./indexRecord.ts";
import type { McapChunk, McapLayout } from "./mcapLayout.ts";
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
  const countIn = (chunk: McapChunk, id: number): number => {
    const share = chunk.channels.get(id);
    if (share === undefined) return 0;
    return typeof share === "number" ? (indexedCount(file, share, id) ?? chunk.messages) : share.count;
  };
  const messagesOf = (ids: ReadonlySet<number>, wanted?: Wanted): number => {
    let sum = 0;
    for (const id of ids) {
      const all = counts.get(id) ?? 0;
      if (wanted === undefined) sum += all;
      else {
        let within = 0;
        for (const chunk of chunks) if (wanted(chunk.start, chunk.end)) within += countIn(chunk, id);
        sum += Math.min(all, within);
      }
    }
    return sum;
  };
  const rangeIn = (chunk: McapChunk, ids: ReadonlySet<number>): { start: Nanoseconds; end: Nanoseconds } | null => {
    const ranges: { start: Nanoseconds; end: Nanoseconds }[] = [];
    for (const id of ids) {
      const share = chunk.channels.get(id);
      if (share === undefined) continue;
      const range = typeof share === "number" ? indexedRange(file, share, id) : share;
      if (range !== null) ranges.push(range);
    }
    const { start, end } = timeRange(ranges);
    return start === null || end === null ? null : { start, end };
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
    rangeOf: (ids) =>
      rangeWithin(
        chunks.filter((chunk) => [...ids].some((id) => chunk.channels.has(id))),
        (chunk) => rangeIn(chunk, ids),
      ),
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
