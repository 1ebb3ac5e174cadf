import type { LogInspection } from "../contract/inspection.ts";
import { readStamps } from "../readers/readTopicStamps.ts";
import { surveyLog } from "../readers/surveyLog.ts";
import { manifestFragment } from "../report/manifestFragment.ts";
import { guessClocks } from "./inspect/guessClocks.ts";
import { onePerMessage } from "./inspect/onePerMessage.ts";
import { stampFigures, topicTiming } from "./inspect/topicTiming.ts";

/** What the journey needs from outside: the readers. Tests pass their own. */
export interface InspectEffects {
  readonly surveyLog: typeof surveyLog;
  readonly readStamps: typeof readStamps;
}

/**
 * What is in a log: topics, rates, gaps, stamps against receipt, clocks, and a manifest to start from.
 *
 * Reads the times of all messages, in one pass.
 *
 * @throws LogError  code `log-unreadable`: it cannot be read or is of no known format
 */
export async function inspectLog(
  path: string,
  effects: InspectEffects = { surveyLog, readStamps },
): Promise<LogInspection> {
  const survey = await effects.surveyLog(path);
  const stamps = await effects.readStamps(
    path,
    survey.topics.filter(({ messages }) => messages > 0).map(({ topic }) => topic),
  );
  const measured = survey.topics.map(({ topic, type, messages, couldBe, known, children }) => {
    const rows = messages > 0 ? stamps.get(topic) : undefined;
    const times = rows !== undefined && children.length > 0 ? onePerMessage(rows) : rows;
    return {
      topic,
      type,
      messages,
      could_be: couldBe,
      known,
      children,
      timing: times === undefined ? null : topicTiming(times, survey.start),
      stamps: times === undefined ? null : stampFigures(times),
    };
  });
  // a topic of two types is listed twice, but has one clock
  const once = new Map(measured.filter(({ timing }) => timing !== null).map((entry) => [entry.topic, entry]));
  const clocks = guessClocks([...once.values()]);
  const topics = measured.map((entry) => ({
    ...entry,
    clock:
      entry.timing === null
        ? null
        : (clocks.find(({ topics: stamped }) => stamped.includes(entry.topic))?.name ?? null),
  }));
  const { start, end } = survey;
  return {
    schema: 1,
    file: survey.file,
    format: survey.format,
    bytes: survey.bytes,
    compression: survey.compression,
    start: start === null ? null : String(start),
    end: end === null ? null : String(end),
    duration: start === null || end === null ? null : Number(end - start) / 1e9,
    messages: survey.messages,
    recovered: survey.recovered,
    topics,
    clocks,
    manifest: manifestFragment(survey.file, topics),
  };
}
