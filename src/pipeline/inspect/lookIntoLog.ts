import type { LogInspection } from "../../contract/inspection.ts";
import type { readLog } from "../../readers/readLog.ts";
import { candidatesOf } from "../../report/draft/candidates.ts";
import { draftSignals } from "../../report/draft/draftSignals.ts";
import type { LogDraft } from "../../report/draft/manifestDraft.ts";
import type { SignalDraft } from "../../report/draft/SignalDraft.ts";
import { findRoles } from "./findRoles.ts";
import { isStill } from "./isStill.ts";
import { readStreams } from "./streams.ts";

/** What a log's motion shows of it. */
export interface LogSights {
  readonly signals: readonly SignalDraft[];
  readonly unknown: LogDraft["unknown"];
  /** nothing moves in it: a static capture */
  readonly still: boolean;
}

/** Reads the motions of a log and finds out what they are. */
export async function lookIntoLog(
  path: string,
  found: Pick<LogInspection, "format" | "topics" | "table" | "points" | "start">,
  read: typeof readLog,
): Promise<LogSights> {
  const candidates = candidatesOf(found);
  const streams = await readStreams(path, candidates, read);
  const roles = findRoles(candidates, streams);
  return {
    signals: draftSignals(roles),
    unknown: found.topics
      .filter(({ known, messages }) => !known && messages > 0)
      .map(({ topic, type }) => ({ topic, type })),
    still: isStill(found.format, roles, streams),
  };
}
