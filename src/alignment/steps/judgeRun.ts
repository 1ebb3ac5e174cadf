import type { Settings } from "../../contract/settings.ts";
import type { Check } from "../../foundation/checks.ts";
import { axes, type PoseTrack, type SignalName, type Window } from "../../foundation/tracks.ts";
import { extent, median } from "../../numeric/descriptive.ts";
import { lowerBound } from "../../numeric/sortedColumns.ts";
import { bodiesApart } from "../clock/bodiesApart.ts";
import { clockApart } from "../clock/clockWitness.ts";
import { movesWithin } from "../commandTrack.ts";
import { conventionChecks } from "../conventions/conventionChecks.ts";
import { describeFaults } from "../describeFaults.ts";
import type { Excursion } from "../excursions.ts";
import { frameChecks } from "../frameChecks.ts";
import type { Fault } from "../poseFaults.ts";
import { powerChecks } from "../powerChecks.ts";
import type { PreparedSignals } from "../prepareSignals.ts";
import { tooLittle } from "../refusals.ts";
import { runChecks } from "../runChecks.ts";
import type { PreparedSignal } from "../timedSignals.ts";
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
  const { effector: smallest, vehicle: vehicleSmallest } = campaign.smallestDifference;
  const facts = { trajectory, vehicle: subjects.vehicle!, setpoint, recorded, hold, scored, period };
  return {
    adds: {},
    checks: [
      ...clockApart(campaign, prepared, witness, movesWithin(setpoint, scored), settings),
      ...(toolMarkers === null || hold === null || !tilted
        ? []
        : bodiesApart(markers, toolMarkers, hold, { vehicle: pose.interval, tool: effectorInterval }, settings)),
      ...nonsenseChecks(prepared, onRun, scored ?? hold, settings),
      ...frameChecks(
        { vehicle, turned, tool, setpoint, subjects, frame, smallest, vehicleSmallest, scored: scored ?? hold },
        settings,
      ),
      ...conventionChecks({ prepared, markers, tilted, subjects, frame, scored, hold, onRun }, settings),
      ...unevenError(subjects, scored, trajectory.shape === "hold", settings),
      ...runChecks({ ...facts, interval: pose.interval }, settings),
      ...powerChecks(prepared, onRun, scored, settings),
    ],
  };
};

/**
 * Excursions in which two bodies changed places: one jumps to where the other was, at the same time.
 *
 * @param vehicle   excursions of the vehicle's pose, seconds on its clock
 * @param effector  excursions of the effector's pose, same clock
 * @param interval  the longer of the two median intervals, seconds
 * @returns faults of code `swap`; the stretches are those of the excursions, whose poses are left out already
 */
export function findSwaps(vehicle: readonly Excursion[], effector: readonly Excursion[], interval: number): Fault[] {
  const stretches: [number, number][] = [];
  let samples = 0;
  for (const a of vehicle) {
    for (const b of effector) {
      if (Math.abs(a.from - b.from) > 5 * interval) continue;
      const apart = distance(a.before, b.before);
      const near = distance(a.after, b.before) < 0.4 * apart && distance(b.after, a.before) < 0.4 * apart;
      if (!near) continue;
      stretches.push([Math.min(a.from, b.from), Math.max(a.to, b.to)]);
      samples += Math.max(1, Math.round((a.to - a.from) / interval) + 1);
    }
  }
  if (stretches.length === 0) return [];
  return [
    {
      code: "swap",
      samples,
      stretches,
      detail: "poses in which vehicle and effector changed places",
      hint: "the capture system took one body for the other: make their marker layouts differ; those poses were left out",
    },
  ];
}

function distance(a: readonly number[], b: readonly number[]): number {
  return Math.hypot(a[0]! - b[0]!, a[1]! - b[1]!, a[2]! - b[2]!);
}

/** What cannot be a captured body, however the rest of its own run looks: an axis that never changes, a speed that no vehicle has. */
function nonsenseChecks(
  prepared: ReadonlyMap<SignalName, PreparedSignal>,
  onRun: (signal: PreparedSignal, t: Float64Array) => Float64Array,
  scored: Window | null,
  settings: Settings,
): Check[] {
  return (["vehicle_pose", "effector_pose"] as const).flatMap((name) => {
    const signal = prepared.get(name);
    if (!signal?.poses || scored === null) return [];
    const t = onRun(signal, signal.poses.t);
    const [from, to] = [lowerBound(t, scored[0]), lowerBound(t, scored[1])];
    if (to - from < 50) return [];
    return [...stillAxis(name, signal.poses, from, to), ...wildMotion(name, signal.poses, from, to, settings)];
  });
}

/** An axis that keeps one number while another moves: a column that was never filled, or the wrong one. */
function stillAxis(name: SignalName, poses: PoseTrack, from: number, to: number): Check[] {
  const still = axes.filter((axis) => {
    const { low, high } = extent(poses[axis].subarray(from, to));
    return low === high;
  });
  if (still.length === 0 || still.length === axes.length) return [];
  return [
    {
      code: "frozen",
      severity: "unusable",
      message: `${still.join(" and ")} of ${name} ${still.length > 1 ? "keep" : "keeps"} one value throughout, to the last digit, while the other ${still.length > 1 ? "axis moves" : "axes move"}: no capture does that`,
      evidence: { signal: name, axes: still, value_m: poses[still[0]!][from]!, poses: to - from },
      hint: "a column that was never filled, or another column than was meant: check `columns` or `fields`",
    },
  ];
}

/** Half of all steps faster than anything that flies: noise, a wrong unit, or rows in no order of time. */
function wildMotion(
  name: SignalName,
  { t, x, y, z }: PoseTrack,
  from: number,
  to: number,
  settings: Settings,
): Check[] {
  const speeds = new Float64Array(to - from - 1);
  for (let i = from + 1; i < to; i++) {
    const way = Math.hypot(x[i]! - x[i - 1]!, y[i]! - y[i - 1]!, z[i]! - z[i - 1]!);
    speeds[i - from - 1] = way / (t[i]! - t[i - 1]!);
  }
  const usual = median(speeds);
  if (!(usual > settings.impossible_speed)) return [];
  return [
    {
      code: "jump",
      severity: "unusable",
      message: `${name} moves at ${usual.toFixed(0)} m/s from one pose to the next, by half of its poses: nothing in an arena flies like that`,
      evidence: { signal: name, median_speed_m_s: usual, poses: to - from },
      hint: "check the unit of the positions (`units: { position: mm }`), their columns, and that the rows are in the order of time",
    },
  ];
}
