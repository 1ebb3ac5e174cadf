import type { Check } from "../../foundation/checks.ts";
import { bodiesApart } from "../clock/bodiesApart.ts";
import { clockApart } from "../clock/clockWitness.ts";
import { movesWithin } from "../commandTrack.ts";
import { conventionChecks } from "../conventions/conventionChecks.ts";
import { describeFaults } from "../describeFaults.ts";
import { frameChecks } from "../frameChecks.ts";
import { nonsenseChecks } from "../nonsenseChecks.ts";
import { powerChecks } from "../powerChecks.ts";
import type { PreparedSignals } from "../prepareSignals.ts";
import { tooLittle } from "../refusals.ts";
import { runChecks } from "../runChecks.ts";
import { findSwaps } from "../swappedBodies.ts";
import { unevenError } from "../unevenError.ts";
import { validFraction } from "../validFraction.ts";
import type { Step } from "./Alignment.ts";
import type { Windowed } from "./findWindows.ts";
import type { Pointed, Tracked } from "./placeBodies.ts";
import type { Commanded, Setpointed } from "./placeCommands.ts";
import type { Clocked, Given, Posed, Taken } from "./placeOnClock.ts";

type All = Given & Taken & Clocked & Posed & Setpointed & Pointed & Commanded & Windowed & Tracked;

/** What was not measured of each body, by what it costs the scored window. */
export const judgePoses: Step<All, object> = (record, before) => {
  const { prepared, settings, onRun, subjects, scored, setpoint, command } = record;
  const checks: Check[] = [];
  const swaps = swapFaults(prepared);
  for (const name of ["vehicle_pose", "effector_pose"] as const) {
    const signal = prepared.get(name);
    const subject = subjects[name === "vehicle_pose" ? "vehicle" : "effector"];
    if (!signal?.poses) continue;
    const { interval } = signal;
    const valid = scored === null || !subject ? 1 : validFraction(subject.t, interval, scored, settings.gap_intervals);
    const faults = [...signal.faults.filter((fault) => fault.code !== "jump" || swaps.length === 0), ...swaps];
    const toRun = (t: number): number => onRun(signal, Float64Array.of(t))[0]!;
    checks.push(...describeFaults(name, faults, toRun, scored, valid, interval, settings));
    const isSaid = [...before, ...checks].some((check) => check.severity === "unusable");
    if (valid < settings.valid_fraction && !isSaid) checks.push(tooLittle(name, valid, scored!, setpoint, command));
  }
  return { adds: {}, checks };
};

function swapFaults(prepared: PreparedSignals): ReturnType<typeof findSwaps> {
  const vehicle = prepared.get("vehicle_pose");
  const effector = prepared.get("effector_pose");
  if (!vehicle || !effector) return [];
  return findSwaps(vehicle.excursions, effector.excursions, Math.max(vehicle.interval, effector.interval));
}

/** Axes, units, motion and power against each other and against physics. */
export const judgeMotion: Step<All, object> = (record) => {
  const { prepared, settings, pose, markers, recorded, setpoint, vehicle, tool, turned, tilted } = record;
  const { campaign, frame, trajectory, hold, scored, period, subjects, onRun, witness, toolMarkers, effectorInterval } =
    record;
  const smallest = campaign.smallestDifference.effector;
  const facts = { trajectory, vehicle: subjects.vehicle!, setpoint, recorded, hold, scored, period };
  return {
    adds: {},
    checks: [
      ...clockApart(campaign, prepared, witness, movesWithin(setpoint, scored), settings),
      ...(toolMarkers === null || hold === null || !tilted
        ? []
        : bodiesApart(markers, toolMarkers, hold, { vehicle: pose.interval, tool: effectorInterval }, settings)),
      ...nonsenseChecks(prepared, onRun, scored ?? hold, settings),
      ...frameChecks({ vehicle, turned, tool, setpoint, subjects, frame, smallest, scored: scored ?? hold }, settings),
      ...conventionChecks({ prepared, markers, tilted, subjects, frame, scored, hold, onRun }, settings),
      ...unevenError(subjects, scored, trajectory.shape === "hold", settings),
      ...runChecks({ ...facts, interval: pose.interval }, settings),
      ...powerChecks(prepared, onRun, scored, settings),
    ],
  };
};
