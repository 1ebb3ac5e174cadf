import type { ClockGuess, LogInspection, StampFigures } from "../contract/inspection.ts";
import type { StampColumn } from "../foundation/recording.ts";
import { median } from "../numeric/descriptive.ts";
import type { TopicStamps } from "../readers/LogReader.ts";
import { readLog, readStamps, surveyLog } from "../readers/readLog.ts";
import { folderDraft } from "./inspect/folderDraft.ts";
import { foundLog } from "./inspect/foundLog.ts";
import { type LogSights, lookIntoLog } from "./inspect/lookIntoLog.ts";
import { stampFigures, topicTiming } from "./inspect/topicTiming.ts";

/** Delays closer together than this can be transport alone; clocks that nobody set are further apart, s. */
const sameClock = 0.05;
/** Fewer stamped messages than this say nothing of a clock: a latched message is stamped long before it is received. */
const enoughMessages = 10;
/** Nor do stamps that wander this far against receipt: they tell when something happened, not when it was sent, s. */
const steady = 0.5;

/**
 * Which topics seem to share a clock: those whose stamps lie equally far from receipt, to 50 ms. Topics without stamps are
 * on the recorder's clock; those with few messages or wandering stamps on none. A guess: two clocks that agree to 50 ms look
 * like one.
 *
 * @param topics  those with messages
 * @returns the recorder's clock first where topics are on it (`recorder`), then `clock-2`, `clock-3` by delay
 */
export function guessClocks(
  topics: readonly { readonly topic: string; readonly messages: number; readonly stamps: StampFigures | null }[],
): ClockGuess[] {
  const placed = topics
    .filter(
      ({ messages, stamps }) =>
        stamps?.delay_median == null || (messages - stamps.zero >= enoughMessages && stamps.delay_spread! <= steady),
    )
    .map(({ topic, stamps }) => ({
      topic,
      delay: stamps?.delay_median ?? 0,
      epoch: stamps?.epoch ?? ("date" as const),
      by: stamps?.delay_median == null ? ("receipt" as const) : ("header" as const),
    }))
    .sort((a, b) => a.delay - b.delay);
  const groups: (typeof placed)[] = [];
  for (const entry of placed) {
    const group = groups.at(-1);
    if (group !== undefined && entry.delay - group.at(-1)!.delay <= sameClock) group.push(entry);
    else groups.push([entry]);
  }
  const isRecorder = (group: typeof placed): boolean => group.some(({ delay }) => Math.abs(delay) <= sameClock);
  const ordered = [...groups.filter(isRecorder), ...groups.filter((group) => !isRecorder(group))];
  return ordered.map((group, index) => {
    const ways = new Set(group.map(({ by }) => by));
    return {
      name: index === 0 && isRecorder(group) ? "recorder" : `clock-${index + 1}`,
      topics: group.map(({ topic }) => topic).sort(),
      epoch: group.every(({ epoch }) => epoch === "date") ? "date" : "since start",
      delay_median: median(Float64Array.from(group, ({ delay }) => delay)),
      by: ways.size === 2 ? "both" : group[0]!.by,
    };
  });
}

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
 * @param options.prefix         from the manifest to the folder of the log; "" where it is to lie beside the log
 * @param options.definitions    folders of .msg files, for a log that holds no definitions of its types
 * @param options.toDefinitions  the same as the manifest names them
 * @throws LogError  code `log-unreadable`: it cannot be read or is of no known format
 */
export async function inspectLog(
  path: string,
  options: {
    readonly effects?: InspectEffects;
    readonly prefix?: string;
    readonly definitions?: readonly string[];
    readonly toDefinitions?: readonly string[];
  } = {},
): Promise<LogInspection> {
  const { effects = fromDisk, prefix = "", definitions = [], toDefinitions = [] } = options;
  const { inspection, sights } = await lookAtLog(path, effects, definitions);
  const name = inspection.file.split(/[/\\]/).at(-1) ?? inspection.file;
  const title = name.replace(/(?<=.)\.[^.]*$/, "");
  return {
    ...inspection,
    ...folderDraft([foundLog(name, inspection, sights)], { title, prefix, definitions: toDefinitions }),
  };
}

/**
 * As `inspectLog`, with what the motions in it show, and without a manifest.
 *
 * @param likely  periods that were commanded in logs like it, seconds: they are tried before any is searched for
 */
export async function lookAtLog(
  path: string,
  effects: InspectEffects = fromDisk,
  definitions: readonly string[] = [],
  likely: readonly number[] = [],
): Promise<{ inspection: Omit<LogInspection, "manifest" | "summary">; sights: LogSights }> {
  const survey = await effects.surveyLog(path, { definitions });
  const stamps = await effects.readStamps(
    path,
    survey.topics.filter(({ messages }) => messages > 0).map(({ topic }) => topic),
    { definitions },
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
  const read: typeof readLog = (paths, requests) => effects.readLog(paths, requests, { definitions });
  return { inspection, sights: await lookIntoLog(path, inspection, read, likely) };
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

/**
 * The times of a transform tree's messages, from those of its transforms: transforms that were received at the same instant
 * came in one message, and the first speaks for it. Without this a tree of three frames looks three times as fast.
 */
export function onePerMessage(times: {
  readonly received: StampColumn;
  readonly stamped: StampColumn | null;
  readonly zeroStamps: number;
}): { readonly received: StampColumn; readonly stamped: StampColumn | null; readonly zeroStamps: number } {
  const { received, stamped } = times;
  const first = received.seconds.map((time, i) => (i === 0 || time !== received.seconds[i - 1] ? 1 : 0));
  const thin = ({ epoch, seconds }: StampColumn): StampColumn => ({
    epoch,
    seconds: seconds.filter((_, i) => first[i] === 1),
  });
  const kept = stamped === null ? null : thin(stamped);
  return {
    received: thin(received),
    stamped: kept,
    zeroStamps: kept === null ? 0 : kept.seconds.filter(Number.isNaN).length,
  };
}
