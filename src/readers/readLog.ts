import { LogError } from "../foundation/errors.ts";
import type { Recording, SignalRequest } from "../foundation/recording.ts";
import { logFormat } from "./logFormat.ts";

/**
 * Reads the requested signals of one log, whatever its format; only that format's reader is loaded.
 *
 * @param paths    the log, or the parts of one that its recorder split
 * @param requests what is wanted; nothing else is decoded
 * @param options.span  seconds after the log's first receipt time: only what was received in [start, end) is kept
 * @throws LogError  code `log-unreadable`: no part given, or a part that cannot be read or is of no known format
 */
export async function readLog(
  paths: readonly string[],
  requests: readonly SignalRequest[],
  options: { span?: readonly [number, number] | null } = {},
): Promise<Recording> {
  if (paths.length === 0) throw new LogError("log-unreadable", "found no file, expected a log");
  for (const path of paths) logFormat(path);
  const { readRosbag } = await import("./rosbag/readRosbag.ts");
  return readRosbag(paths, requests, options);
}
