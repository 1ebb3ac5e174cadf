import { clockOfSeconds } from "../messages/clocks.ts";
import type { LogPart } from "../messages/LogPart.ts";
import { rangeWithin } from "../messages/timeRange.ts";
import type { BagChunk } from "./bagLayout.ts";
import { readIndexRange } from "./indexRange.ts";
import { openBag } from "./openBag.ts";
import { readChunkHeader } from "./readChunk.ts";
import { readMessages } from "./readMessages.ts";

/**
 * A ROS 1 bag as a part of a log.
 *
 * @throws LogError  code `log-unreadable`: see `openBag`
 */
export async function bagPart(path: string): Promise<LogPart> {
  const layout = await openBag(path);
  const { file, chunks, connections, start, end, notes } = layout;
  const shareOf = (chunk: BagChunk, ids: ReadonlySet<number>): number => {
    let sum = 0;
    for (const id of ids) sum += chunk.shares.get(id)?.count ?? 0;
    return sum;
  };
  return {
    path,
    bytes: file.bytes,
    connections,
    start,
    end,
    notes,
    compression: () => {
      const names = chunks.map((chunk) => readChunkHeader(file, chunk.position)?.compression ?? "damaged");
      return [...new Set(names)].sort();
    },
    messagesOf: (ids, wanted) => {
      let sum = 0;
      for (const chunk of chunks) if (wanted?.(chunk.start, chunk.end) ?? true) sum += shareOf(chunk, ids);
      return sum;
    },
    rangeOf: (ids) =>
      rangeWithin(
        chunks.filter((chunk) => shareOf(chunk, ids) > 0),
        (chunk) => readIndexRange(file, chunk, ids),
      ),
    readMessages: (targets, wanted) =>
      readMessages(
        wanted === undefined ? layout : { ...layout, chunks: chunks.filter((each) => wanted(each.start, each.end)) },
        targets,
      ),
    clock: clockOfSeconds,
    close: () => file.close(),
  };
}
