import type { LogInspection } from "../contract/inspection.ts";
import { median } from "../numeric/median.ts";
import type { TopicStamps } from "../readers/LogReader.ts";
import { readLog } from "../readers/readLog.ts";
import { readStamps } from "../readers/readStamps.ts";
import { surveyLog } from "../readers/surveyLog.ts";
import { folderDraft } from "./inspect/folderDraft.ts";
import { foundLog } from "./inspect/foundLog.ts";
import { guessClocks } from "./inspect/guessClocks.ts";
import { type LogSights, lookIntoLog } from "./inspect/lookIntoLog.ts";
import { onePerMessage } from "./inspect/onePerMessage.ts";
import { stampFigures, topicTiming } from "./inspect/topicTiming.ts";

/** What the journey needs from outside: the readers. Tests pass their own. */
export interface InspectEffects {
  readonly surveyLog: typeof surveyLog;
  readonly readStamps: typeof readStamps;
  readonly readLog: typeof readLog;
}

const fromDisk: InspectEffects = { surveyLog, readStamps, readLog };

/**
 * What is in a log: topics, rates, gaps, stamps against receipt, clocks, and a manifest to start from.
 *
 * Reads the times of all messages, in one pass.
 *
 * @param prefix  from the manifest to the folder of the log; "" where it is to lie beside the log
 * @throws LogError  code `log-unreadable`: it cannot be read or is of no known format
 */
export async function inspectLog(
  path: string,
  effects: InspectEffects = fromDisk,
  prefix = "",
): Promise<LogInspection> {
  const { inspection, sights } = await lookAtLog(path, effects);
  const name = inspection.file.split(/[/\\]/).at(-1) ?? inspection.file;
  const title = name.replace(/(?<=.)\.[^.]*$/, "");
  return { ...inspection, ...folderDraft([foundLog(name, inspection, sights)], { title, prefix }) };
}

/** As `inspectLog`, with what the motions in it show, and without a manifest. */
export async function lookAtLog(
  path: string,
  effects: InspectEffects = fromDisk,
): Promise<{ inspection: Omit<LogInspection, "manifest" | "summary">; sights: LogSights }> {
  const survey = await effects.surveyLog(path);
  const stamps = await effects.readStamps(
    path,
    survey.topics.filter(({ messages }) => messages > 0).map(({ topic }) => topic),
  );
  const measured = survey.topics.map(({ topic, type, messages, couldBe, known, children, bodies }) => {
    const rows = messages > 0 ? stamps.topics.get(topic) : undefined;
    const times = rows !== undefined && children.length > 0 ? onePerMessage(rows) : rows;
    return {
      topic,
      type,
      messages,
      could_be: couldBe,
      known,
      children,
      ...(bodies === undefined ? {} : { bodies }),
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
  const inspection = {
    schema: 1 as const,
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
  };
  return { inspection, sights: await lookIntoLog(path, inspection, effects.readLog) };
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
