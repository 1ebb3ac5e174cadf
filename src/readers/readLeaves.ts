import { LogError } from "../foundation/errors.ts";
import type { SurveyOptions, TopicLeaves } from "./LogReader.ts";
import { logFormat } from "./logFormat.ts";
import { readerOf } from "./readerOf.ts";

/**
 * The numbers of one topic's first messages, by the paths that `fields` of a manifest name them by.
 *
 * @throws LogError  code `log-unreadable`: the log cannot be read, has no topics, or none of that name
 */
export async function readLeaves(path: string, topic: string, options: SurveyOptions = {}): Promise<TopicLeaves> {
  const format = logFormat(path);
  const { leaves } = await readerOf(format);
  if (leaves !== undefined) return leaves(path, topic, options);
  throw new LogError("log-unreadable", `found a log without topics (${format}), expected one of messages`, {
    place: path,
    hint: "without a topic, inspect lists its columns with their ranges, or its markers",
  });
}
