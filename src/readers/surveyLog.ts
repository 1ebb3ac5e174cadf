import type { LogSurvey } from "../foundation/recording.ts";
import type { SurveyOptions } from "./LogReader.ts";
import { logFormat } from "./logFormat.ts";
import { readerOf } from "./readerOf.ts";

/**
 * What is in one log: topics or columns, types, counts, times.
 *
 * @throws LogError  code `log-unreadable`: it cannot be read or is of no known format
 */
export async function surveyLog(path: string, options: SurveyOptions = {}): Promise<LogSurvey> {
  return (await readerOf(logFormat(path))).survey(path, options);
}
