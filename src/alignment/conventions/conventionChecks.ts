import type { Settings } from "../../contract/settings.ts";
import type { Check } from "../../foundation/checks.ts";
import type { RecordedSignal } from "../../foundation/recording.ts";
import type { PoseTrack, SignalName, Subject, Window } from "../../foundation/tracks.ts";
import { extent, plainSum } from "../../numeric/descriptive.ts";
import { gatherBy, lowerBound } from "../../numeric/sortedColumns.ts";
import type { SubjectTrack } from "../subjectTracks.ts";
import type { PreparedSignal } from "../timedSignals.ts";
import { directionCheck } from "./axisReadings.ts";
import { gyroCheck } from "./gyroCheck.ts";

/** How long a vehicle stands before it takes off, at least, seconds. */
const standing = 1;

/**
 * Whether the vehicle flies above the place where it stood. Only where the record begins or ends on the ground: there
 * nothing moves by more than the capture's noise, while a hover moves by millimetres.
 *
 * @param vehicle  campaign's axes, z up
 * @param flight   the scored stretch, or the hold
 */
function takeOffCheck(vehicle: PoseTrack, flight: Window | null, settings: Settings): Check[] {
  const { t, z } = vehicle;
  if (flight === null || t.length < 100) return [];
  const ground = groundHeight(vehicle, settings);
  const a = lowerBound(t, flight[0]);
  const b = lowerBound(t, flight[1]);
  if (ground === null || b - a < 10) return [];
  const height = plainSum(z, a, b) / (b - a);
  if (height > ground - settings.takeoff_drop) return [];
  return [
    {
      code: "frame-suspect",
      severity: "doubt",
      message: `the vehicle stands at a height of ${ground.toFixed(2)} m and flies at ${height.toFixed(2)} m, below it: z seems to point down`,
      evidence: { standing_m: ground, flying_m: height },
      hint: "if the log's world has z down, say `axes: { world: ned }` (or frd) on this signal and on those that share its world; a world with y up is `frames: world: up: y`",
      touches: { part: "all" },
    },
  ];
}

/** Mean height of a stretch at the record's start, else at its end, in which the vehicle stands still; null where it never does. */
function groundHeight({ t, x, y, z }: PoseTrack, settings: Settings): number | null {
  const n = t.length;
  const ends: readonly Window[] = [
    [t[0]!, t[0]! + standing],
    [t[n - 1]! - standing, t[n - 1]!],
  ];
  for (const [from, to] of ends) {
    const a = lowerBound(t, from);
    const b = lowerBound(t, to);
    if (b - a < 20) continue;
    const still = [x, y, z].every((column) => {
      const { low, high } = extent(column.subarray(a, b));
      return high - low < settings.standing_still;
    });
    if (still) return plainSum(z, a, b) / (b - a);
  }
  return null;
}

/** No one commands more than a few turns; degrees taken for radians are dozens of them. */
const mostTurns = 4;

/** Whether a commanded yaw can be in radians. */
function yawUnitCheck(signal: RecordedSignal | undefined): Check[] {
  const yaw = signal?.columns.yaw;
  if (signal === undefined || yaw === undefined) return [];
  const { low, high } = extent(yaw);
  const largest = Math.max(Math.abs(low), Math.abs(high));
  if (!(largest > mostTurns * 2 * Math.PI) || !Number.isFinite(largest)) return [];
  return [
    {
      code: "frame-suspect",
      // the arm's command is not laid out from a yaw of its own
      severity: signal.signal === "vehicle_setpoint" ? "unusable" : "note",
      message: `the yaw of ${signal.signal} goes up to ${largest.toFixed(1)} rad: 57.3 times too large, degrees taken for radians?`,
      evidence: { topic: signal.topic, lowest_rad: low, highest_rad: high },
      hint: "say `units: { angle: deg }` on this signal",
      touches: { subjects: ["effector"], part: "all" },
    },
  ];
}

/** By how much clocks that were joined may still be apart, seconds: a delay of the estimator, a driver's latency. */
const clockSlack = 0.3;

/** Axes and units against physics: where the motion goes, about what it turns, and which way is up. */
export function conventionChecks(
  {
    prepared,
    markers,
    tilted,
    subjects,
    frame,
    scored,
    hold,
    onRun,
  }: {
    prepared: ReadonlyMap<SignalName, PreparedSignal>;
    markers: PoseTrack;
    /** whether their attitude was measured, roll and pitch too */
    tilted: boolean;
    subjects: Readonly<Partial<Record<Subject, SubjectTrack>>>;
    frame: "world" | "vehicle" | "arm_base";
    scored: Window | null;
    hold: Window | null;
    onRun: (signal: PreparedSignal, t: Float64Array) => Float64Array;
  },
  settings: Settings,
): Check[] {
  const arm = frame === "world" ? "effector" : "arm";
  const rate = prepared.get("vehicle_rate");
  const { wx, wy, wz } = rate?.signal.columns ?? {};
  const inOrder = rate === undefined ? null : gatherBy(rate.timeline.order);
  return [
    ...(["vehicle", arm] as const).flatMap((subject) =>
      subjects[subject] === undefined ? [] : directionCheck(subject, subjects[subject], scored, settings),
    ),
    ...(!tilted || rate === undefined || inOrder === null || !wx || !wy || !wz
      ? []
      : gyroCheck(
          markers,
          {
            t: onRun(rate, rate.timeline.t),
            wx: inOrder(wx),
            wy: inOrder(wy),
            wz: inOrder(wz),
            topic: rate.signal.topic,
          },
          clockSlack,
          settings,
        )),
    ...takeOffCheck(markers, scored ?? hold, settings),
    ...(["vehicle_setpoint", "effector_command"] as const).flatMap((name) => yawUnitCheck(prepared.get(name)?.signal)),
  ];
}
