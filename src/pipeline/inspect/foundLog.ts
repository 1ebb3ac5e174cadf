import type { FolderLog, LogInspection } from "../../contract/inspection.ts";
import { draftSignals } from "../../report/draft/draftSignals.ts";
import type { LogSights } from "./lookIntoLog.ts";

/** A log of a folder with what it seems to hold. */
export interface FoundLog extends LogSights {
  readonly log: FolderLog;
}

/** As the folder shows it; the signals of its draft follow those of its like. */
export function withSignals(one: FoundLog, roles: FoundLog["roles"]): FoundLog {
  const signals = draftSignals(roles);
  return { ...one, roles, signals, log: { ...one.log, signals: shown(signals) } };
}

function shown(signals: FoundLog["signals"]): FolderLog["signals"] {
  return signals.map(({ signal, parts, rate }) => ({ signal, origin: parts[0] ?? "", rate }));
}

/** @param path  as the folder calls it */
export function foundLog(
  path: string,
  inspection: Omit<LogInspection, "manifest" | "summary">,
  sights: LogSights,
): FoundLog {
  const { bytes, format, start, duration, messages, recovered, dropouts } = inspection;
  const signals = shown(sights.signals);
  return {
    ...sights,
    log: { path, bytes, format, error: null, start, duration, messages, recovered, dropouts, signals, same_as: null },
  };
}

export function unreadLog(path: string, error: string): FoundLog {
  return {
    candidates: [],
    roles: new Map(),
    signals: [],
    unknown: [],
    still: false,
    content: null,
    up: null,
    flights: [{ span: null, shape: null }],
    sight: null,
    gyroApart: false,
    offsetError: null,
    turning: null,
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
