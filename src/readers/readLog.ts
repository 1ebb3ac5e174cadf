import { LogError } from "../foundation/errors.ts";
import type { Recording, SignalRequest } from "../foundation/recording.ts";
import { inSI } from "./inSI.ts";
import type { ReadOptions } from "./LogReader.ts";
import { logFormat } from "./logFormat.ts";
import { readerOf } from "./readerOf.ts";
import { refuseNonsense } from "./refuseNonsense.ts";

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
