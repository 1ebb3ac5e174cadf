import type { FolderLog, LogInspection } from "../../contract/inspection.ts";
import type { LogSights } from "./lookIntoLog.ts";

/** A log of a folder with what it seems to hold. */
export interface FoundLog extends LogSights {
  readonly log: FolderLog;
}

/** @param path  as the folder calls it */
export function foundLog(path: string, inspection: Omit<LogInspection, "manifest">, sights: LogSights): FoundLog {
  const { bytes, format, start, duration, messages, recovered, dropouts } = inspection;
  const signals = sights.signals.map(({ signal, parts, rate }) => ({ signal, origin: parts[0] ?? "", rate }));
  return {
    ...sights,
    log: { path, bytes, format, error: null, start, duration, messages, recovered, dropouts, signals, same_as: null },
  };
}

export function unreadLog(path: string, error: string): FoundLog {
  return {
    signals: [],
    unknown: [],
    still: false,
    log: {
      path,
      bytes: 0,
      format: null,
      error,
      start: null,
      duration: null,
      messages: 0,
      recovered: null,
      dropouts: null,
      signals: [],
      same_as: null,
    },
  };
}
