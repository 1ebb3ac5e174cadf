import type { LogInspection } from "../../contract/inspection.ts";
import type { SignalName } from "../../foundation/signals.ts";
import type { PointTrack } from "../../foundation/tracks.ts";
import type { readLog } from "../../readers/readLog.ts";
import type { LogDraft } from "../../report/draft/CampaignSketch.ts";
import { type Candidate, candidatesOf } from "../../report/draft/candidates.ts";
import { draftSignals } from "../../report/draft/draftSignals.ts";
import type { SignalDraft } from "../../report/draft/SignalDraft.ts";
import { type FlightSight, findFlights } from "./findFlights.ts";
import { findRoles, type Roles } from "./findRoles.ts";
import { isStill } from "./isStill.ts";
import { readStreams } from "./streams.ts";
import { traitsOf } from "./traits.ts";

/** What a log's motion shows of it. */
export interface LogSights {
  readonly candidates: readonly Candidate[];
  readonly roles: Roles;
  readonly signals: readonly SignalDraft[];
  readonly unknown: LogDraft["unknown"];
  /** nothing moves in it: a static capture */
  readonly still: boolean;
  /** at least one; more where the vehicle took off and landed again */
  readonly flights: readonly FlightSight[];
  /** what shows the motion of the capture's vehicle as well, and so the capture's clock; null where nothing in this log does */
  readonly sight: "vehicle_rate" | "vehicle_estimate" | null;
}

/** Reads the motions of a log and finds out what they are. */
export async function lookIntoLog(
  path: string,
  found: Pick<LogInspection, "format" | "topics" | "table" | "points" | "start">,
  read: typeof readLog,
): Promise<LogSights> {
  const candidates = candidatesOf(found);
  const streams = await readStreams(path, candidates, read);
  const { roles, turnsAsGyro } = findRoles(candidates, streams);
  const pointOf = (signal: SignalName): PointTrack | null =>
    streams.find(({ candidate }) => candidate === roles.get(signal)?.chosen)?.point ?? null;
  const vehicle = pointOf("vehicle_pose");
  const arm = pointOf("effector_command");
  const command = arm !== null && traitsOf(arm).reach > 1e-3 ? arm : pointOf("vehicle_setpoint");
  return {
    candidates,
    roles,
    signals: draftSignals(roles),
    unknown: found.topics
      .filter(({ known, messages }) => !known && messages > 0)
      .map(({ topic, type }) => ({ topic, type })),
    still: isStill(found.format, roles, streams),
    flights: findFlights(vehicle, command, roles.get("vehicle_pose")?.chosen?.down ?? false),
    sight: turnsAsGyro ? "vehicle_rate" : vehicle !== null && roles.has("vehicle_estimate") ? "vehicle_estimate" : null,
  };
}
