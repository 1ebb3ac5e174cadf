import type { LogFormat } from "../catalogue/logFormats.ts";
import type { Check } from "../foundation/checks.ts";
import { LogError } from "../foundation/errors.ts";
import type { LogSurvey, RecordedSignal, Recording, SignalRequest } from "../foundation/recording.ts";
import { inSI } from "./inSI.ts";
import type { LogReader, LogStamps, ReadOptions, SurveyOptions, TopicLeaves } from "./LogReader.ts";
import { logFormat } from "./logFormat.ts";

/**
 * Sizes that nothing a flight is measured with can give, in SI: positions beyond the Earth, turns of a drill. A wrong unit stays
 * within them, for that is asked about elsewhere; one flipped bit of a number does not.
 */
const largest: Readonly<Record<string, { readonly size: number; readonly unit: string }>> = {
  ...alike(["x", "y", "z"], 1e10, "m"),
  ...alike(["qx", "qy", "qz", "qw"], 1e6, ""),
  ...alike(["roll", "pitch", "yaw"], 1e6, "rad"),
  ...alike(["wx", "wy", "wz"], 1e6, "rad/s"),
  voltage: { size: 1e6, unit: "V" },
  current: { size: 1e6, unit: "A" },
};

function alike(names: readonly string[], size: number, unit: string) {
  return Object.fromEntries(names.map((name) => [name, { size, unit }]));
}

/**
 * A signal without the numbers that are no measurement: they become NaN, which alignment knows for a gap, and are counted.
 *
 * @param signal  in SI; its columns are not changed
 */
function refuseNonsense(signal: RecordedSignal): { readonly signal: RecordedSignal; readonly checks: Check[] } {
  const checks: Check[] = [];
  const columns = Object.entries(signal.columns).map(([name, column]) => {
    const limit = largest[name];
    const count = limit === undefined ? 0 : beyond(column, limit.size);
    if (limit === undefined || count === 0) return [name, column] as const;
    checks.push({
      code: "gap",
      severity: "doubt",
      message: `${signal.signal}: ${count} of ${column.length} numbers of ${name} are larger than ${limit.size.toExponential(0)} ${limit.unit}, which nothing measures, and were left out`,
      evidence: { signal: signal.signal, topic: signal.topic, column: name, refused: count, numbers: column.length },
      hint: "the log was damaged on its way, or its driver writes a number for what it does not know: copy the log again from the recorder",
    });
    return [name, column.map((value) => (Math.abs(value) > limit.size ? Number.NaN : value))] as const;
  });
  return checks.length === 0
    ? { signal, checks }
    : { signal: { ...signal, columns: Object.fromEntries(columns) }, checks };
}

function beyond(column: Float64Array, size: number): number {
  let count = 0;
  // infinity is what a driver writes for nothing seen, and is known for it
  for (let i = 0; i < column.length; i++) if (Math.abs(column[i]!) > size && Number.isFinite(column[i]!)) count++;
  return count;
}

/** Each reader is loaded when a log needs it. */
const readers: Readonly<Record<LogFormat, () => Promise<LogReader>>> = {
  rosbag1: async () => (await import("./rosbag/rosbagReader.ts")).rosbagReader,
  mcap: async () => (await import("./mcap/mcapPart.ts")).mcapReader,
  ros2: async () => (await import("./ros2/ros2Reader.ts")).ros2Reader,
  ulog: async () => (await import("./ulog/ulogReader.ts")).ulogReader,
  parquet: async () => (await import("./parquet/parquetReader.ts")).parquetReader,
  c3d: async () => (await import("./c3d/c3dReader.ts")).c3dReader,
  table: async () => (await import("./table/tableReader.ts")).tableReader,
};

function readerOf(format: LogFormat): Promise<LogReader> {
  return readers[format]();
}

/**
 * Reads the requested signals of one log, whatever its format, in SI; only that format's reader is loaded.
 *
 * @param paths    the log, or the parts of one that its recorder split
 * @param requests what is wanted; nothing else is decoded
 * @throws LogError  code `log-unreadable`: no part given, a part that cannot be read or is of no known format, or parts
 *                   of two formats
 */
export async function readLog(
  paths: readonly string[],
  requests: readonly SignalRequest[],
  options: ReadOptions = {},
): Promise<Recording> {
  if (paths.length === 0) throw new LogError("log-unreadable", "found no file, expected a log");
  const formats = paths.map(logFormat);
  const other = formats.findIndex((format) => format !== formats[0]);
  if (other >= 0)
    throw new LogError("log-unreadable", "found parts of one log in two formats, expected one", {
      place: paths[other]!,
      hint: `give each log its own runs: ${paths[0]} is of another format`,
    });
  const recording = await (await readerOf(formats[0]!)).read(paths, requests, options);
  const byName = new Map(requests.map((request) => [request.signal, request]));
  const kept = [...recording.signals].map(
    ([name, signal]) => [name, refuseNonsense(inSI(signal, byName.get(name)!))] as const,
  );
  const checks = [...(recording.checks ?? []), ...kept.flatMap(([, { checks: own }]) => own)];
  return {
    ...recording,
    signals: new Map(kept.map(([name, { signal }]) => [name, signal])),
    ...(checks.length === 0 ? {} : { checks }),
  };
}

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

/**
 * What is in one log: topics or columns, types, counts, times.
 *
 * @throws LogError  code `log-unreadable`: it cannot be read or is of no known format
 */
export async function surveyLog(path: string, options: SurveyOptions = {}): Promise<LogSurvey> {
  return (await readerOf(logFormat(path))).survey(path, options);
}
