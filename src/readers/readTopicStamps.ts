import type { LogStamps, TopicStamps } from "./LogReader.ts";
import { logFormat } from "./logFormat.ts";
import { readerOf } from "./readerOf.ts";

/**
 * Times of one topic's messages, for rates, gaps and stamps against receipt.
 *
 * @returns null where the log has no such topic
 * @throws LogError  code `log-unreadable`: the log cannot be read
 */
export async function readTopicStamps(path: string, topic: string): Promise<TopicStamps | null> {
  return (await readStamps(path, [topic])).topics.get(topic) ?? null;
}

/**
 * Times of the messages of several topics, in one pass over the log.
 *
 * @throws LogError  code `log-unreadable`: the log cannot be read
 */
export async function readStamps(path: string, topics: readonly string[]): Promise<LogStamps> {
  return (await readerOf(logFormat(path))).stamps(path, topics);
}
