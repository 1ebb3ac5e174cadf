import type { LogStamps, SurveyOptions } from "./LogReader.ts";
import { logFormat } from "./logFormat.ts";
import { readerOf } from "./readerOf.ts";

/**
 * Times of the messages of several topics, in one pass over the log.
 *
 * @throws LogError  code `log-unreadable`: the log cannot be read
 */
export async function readStamps(
  path: string,
  topics: readonly string[],
  options: SurveyOptions = {},
): Promise<LogStamps> {
  return (await readerOf(logFormat(path))).stamps(path, topics, options);
}
