import type { LogFormat } from "../catalogue/logFormats.ts";
import { LogError } from "../foundation/errors.ts";
import type { LogSurvey, Recording, SignalRequest } from "../foundation/recording.ts";
import { inSI } from "./inSI.ts";
import type { LogReader, LogStamps, ReadOptions, SurveyOptions, TopicLeaves } from "./LogReader.ts";
import { logFormat } from "./logFormat.ts";
import { refuseNonsense } from "./refuseNonsense.ts";

/** Each reader is loaded when a log needs it. */
const readers: Readonly<Record<LogFormat, () => Promise<LogReader>>> = {
  rosbag1: async () => (await import("./rosbag/rosbagReader.ts")).rosbagReader,
  mcap: async () => (await import("./mcap/mcapReader.ts")).mcapReader,
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
