import type { LogSurvey, TopicSurvey } from "../../foundation/recording.ts";
import type { Nanoseconds } from "../../foundation/units.ts";
import type { BagConnection, BagLayout } from "./bagLayout.ts";
import { readIndexRange } from "./indexRange.ts";
import { openBag } from "./openBag.ts";
import { messagesOf } from "./planSignals.ts";
import { readChunkHeader } from "./readChunk.ts";
import { readChildren } from "./readRosbagStamps.ts";
import { signalsFor } from "./signalTypes.ts";

/**
 * What is in a ROS 1 bag. From its index alone, except the child frames of transform trees, which only the messages
 * know. A topic of two types is listed once for each.
 *
 * @throws LogError  code `log-unreadable`: no bag, or one that cannot be read
 */
export async function surveyRosbag(path: string): Promise<LogSurvey> {
  const layout = await openBag(path);
  try {
    const children = await readChildren(layout);
    const groups = new Map<string, BagConnection[]>();
    for (const connection of layout.connections.values()) {
      const key = `${connection.topic}\n${connection.type}`;
      groups.set(key, [...(groups.get(key) ?? []), connection]);
    }
    const topics = [...groups.values()]
      .map((connections) => surveyTopic(layout, connections, children))
      .sort((a, b) => (a.topic < b.topic ? -1 : a.topic > b.topic ? 1 : 0));
    return {
      file: path,
      format: "ROS 1 bag",
      bytes: layout.file.bytes,
      compression: compressionsOf(layout),
      start: layout.start,
      end: layout.end,
      messages: topics.reduce((sum, topic) => sum + topic.messages, 0),
      topics,
      recovered: layout.notes.length === 0 ? null : layout.notes.join("; "),
    };
  } finally {
    layout.file.close();
  }
}

function surveyTopic(
  layout: BagLayout,
  connections: readonly BagConnection[],
  children: ReadonlyMap<string, readonly string[]>,
): TopicSurvey {
  const { topic, type } = connections[0]!;
  const ids = new Set(connections.map((each) => each.id));
  const couldBe = signalsFor(topic, type);
  return {
    topic,
    type,
    messages: messagesOf(layout, ids),
    ...rangeOf(layout, ids),
    couldBe,
    known: couldBe.length > 0,
    children: children.get(topic) ?? [],
  };
}

/**
 * First and last receipt time of some connections. Chunks are looked into in the order of their own times, until the
 * next can bring nothing earlier (or later), so one or two index records are read and not all.
 */
function rangeOf(layout: BagLayout, ids: ReadonlySet<number>): { start: Nanoseconds | null; end: Nanoseconds | null } {
  const holding = layout.chunks.filter((chunk) => [...ids].some((id) => (chunk.shares.get(id)?.count ?? 0) > 0));
  let start: Nanoseconds | null = null;
  for (const chunk of [...holding].sort((a, b) => compare(a.start, b.start))) {
    if (start !== null && chunk.start >= start) break;
    const range = readIndexRange(layout.file, chunk, ids);
    if (start === null || range.start < start) start = range.start;
  }
  let end: Nanoseconds | null = null;
  for (const chunk of [...holding].sort((a, b) => compare(b.end, a.end))) {
    if (end !== null && chunk.end <= end) break;
    const range = readIndexRange(layout.file, chunk, ids);
    if (end === null || range.end > end) end = range.end;
  }
  return { start, end };
}

function compare(a: Nanoseconds, b: Nanoseconds): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

function compressionsOf(layout: BagLayout): string[] {
  const names = layout.chunks.map((chunk) => readChunkHeader(layout.file, chunk.position)?.compression ?? "damaged");
  return [...new Set(names)].sort();
}
