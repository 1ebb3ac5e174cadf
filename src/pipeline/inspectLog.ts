import type { LogInspection } from "../contract/inspection.ts";
import { median } from "../numeric/median.ts";
import type { TopicStamps } from "../readers/LogReader.ts";
import { readStamps } from "../readers/readStamps.ts";
import { surveyLog } from "../readers/surveyLog.ts";
import { draftSignals } from "../report/draft/draftSignals.ts";
import { manifestDraft } from "../report/draft/manifestDraft.ts";
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
    const rows = messages > 0 ? stamps.topics.get(topic) : undefined;
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
      published_before: publishedBefore(rows),
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
  const found = {
    format: survey.format,
    topics,
    table: survey.table ?? null,
    points: survey.points ?? null,
  };
  const log = survey.file.split(/[/\\]/).at(-1) ?? survey.file;
  return {
    schema: 1,
    file: survey.file,
    bytes: survey.bytes,
    compression: survey.compression,
    start: start === null ? null : String(start),
    end: end === null ? null : String(end),
    duration: start === null || end === null ? null : Number(end - start) / 1e9,
    messages: survey.messages,
    recovered: damageOf(survey.recovered, stamps.damage),
    dropouts: survey.dropouts ?? null,
    ...found,
    parameters: survey.parameters?.size ?? null,
    clocks: found.table === null && found.points === null ? clocks : [],
    // paths are relative to the manifest, which is to lie beside the log
    manifest: manifestDraft(
      [
        {
          name: null,
          isTable: found.table !== null,
          signals: draftSignals(found),
          unknown: unknownTopics(topics),
        },
      ],
      [{ logs: [{ name: null, path: log }], configuration: "bare", block: null, left: null, remark: null }],
    ),
  };
}

/** What opening the log and reading it through found damaged, each once; null for a sound log. */
function damageOf(recovered: string | null, met: readonly string[]): string | null {
  const known = recovered ?? "";
  const found = [...(recovered === null ? [] : [recovered]), ...new Set(met.filter((note) => !known.includes(note)))];
  return found.length === 0 ? null : found.join("; ");
}

/** Median of receipt minus publication, seconds; null where the log keeps receipt alone. */
function publishedBefore(rows: TopicStamps | undefined): number | null {
  if (rows?.published === undefined || rows.published.seconds.length === 0) return null;
  const { received, published } = rows;
  const apart = Number(received.epoch - published.epoch) / 1e9;
  return median(received.seconds.map((at, k) => at - published.seconds[k]! + apart));
}

/** Topics with messages of a type that is not known by heart. */
export function unknownTopics(topics: LogInspection["topics"]): { topic: string; type: string }[] {
  return topics.filter(({ known, messages }) => !known && messages > 0).map(({ topic, type }) => ({ topic, type }));
}
