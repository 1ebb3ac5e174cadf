import type { StampColumn } from "../foundation/recording.ts";
import { logFormat } from "./logFormat.ts";

/** When the messages of one topic were received and what their own headers say; rows in order of receipt. */
export interface TopicStamps {
  readonly topic: string;
  readonly type: string;
  readonly received: StampColumn;
  /** null where the type carries no header */
  readonly stamped: StampColumn | null;
  readonly zeroStamps: number;
}

/**
 * Times of one topic's messages, for rates, gaps and stamps against receipt.
 *
 * @returns null where the log has no such topic
 * @throws LogError  code `log-unreadable`: the log cannot be read
 */
export async function readTopicStamps(path: string, topic: string): Promise<TopicStamps | null> {
  return (await readStamps(path, [topic])).get(topic) ?? null;
}

/**
 * Times of the messages of several topics, in one pass over the log.
 *
 * @returns by topic; topics that the log does not have are left out
 * @throws LogError  code `log-unreadable`: the log cannot be read
 */
export async function readStamps(path: string, topics: readonly string[]): Promise<ReadonlyMap<string, TopicStamps>> {
  if (logFormat(path) === "mcap") {
    const { readMcapStamps } = await import("./mcap/readMcapStamps.ts");
    return readMcapStamps(path, topics);
  }
  const { readRosbagStamps } = await import("./rosbag/readRosbagStamps.ts");
  return readRosbagStamps(path, topics);
}
