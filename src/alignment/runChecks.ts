import type { Trajectory } from "../contract/campaign.ts";
import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import type { Window } from "../foundation/tracks.ts";
import { lowerBound } from "../numeric/lowerBound.ts";
import type { CommandTrack } from "./commandTrack.ts";
import { samplePoints } from "./sampleTrack.ts";
import type { SubjectTrack } from "./subjectTracks.ts";

interface Facts {
  readonly trajectory: Trajectory;
  readonly vehicle: SubjectTrack;
  readonly setpoint: CommandTrack;
  readonly recorded: Window;
  readonly hold: Window | null;
  readonly scored: Window | null;
  readonly period: number | null;
  /** median interval of the vehicle's poses, seconds */
  readonly interval: number;
}

/** Checks of a whole aligned run: hold window, sampling rate, a vehicle that runs away. */
export function runChecks(facts: Facts, settings: Settings): Check[] {
  return [...holdCheck(facts, settings), ...rateCheck(facts, settings), ...runawayCheck(facts, settings)];
}

function holdCheck({ trajectory, hold, recorded }: Facts, settings: Settings): Check[] {
  const length = hold === null ? 0 : hold[1] - hold[0];
  const wanted =
    trajectory.shape === "hold" ? Math.max(settings.hold_advised, 0.5 * trajectory.duration) : settings.hold_advised;
  if (length >= wanted - 0.05) return [];
  const evidence = { hold_s: length, advised_s: wanted, recorded_s: recorded[1] - recorded[0] };
  const hint =
    "let the vehicle hover with the arm at rest for at least 15 s before or after the cycles, commands unchanged";
  if (hold === null) {
    return [
      {
        code: "short-hold",
        severity: trajectory.shape === "hold" ? "unusable" : "note",
        message: `no hold window: the commands never rest for ${settings.hold_length} s, counted from ${settings.hold_settle} s after a change`,
        evidence,
        hint,
      },
    ];
  }
  return [
    {
      code: "short-hold",
      severity: trajectory.shape === "hold" ? "doubt" : "note",
      message: `the hold window is only ${length.toFixed(1)} s long; slow drift shows from about ${wanted.toFixed(0)} s`,
      evidence,
      hint,
    },
  ];
}

function rateCheck({ interval, period }: Facts, settings: Settings): Check[] {
  const rate = 1 / interval;
  const perCycle = period === null ? Number.POSITIVE_INFINITY : period * rate;
  if (rate >= settings.pose_rate && perCycle >= settings.samples_per_cycle) return [];
  return [
    {
      code: "low-rate",
      severity: "doubt",
      message: `the vehicle's pose comes only ${rate.toFixed(1)} times a second${Number.isFinite(perCycle) ? `, ${perCycle.toFixed(0)} times a cycle` : ""}`,
      evidence: { rate_hz: rate, samples_per_cycle: Number.isFinite(perCycle) ? perCycle : null },
      hint: `record at least ${settings.pose_rate} Hz and ${settings.samples_per_cycle} poses a cycle: fast error is missed otherwise`,
    },
  ];
}

/** Far from a resting setpoint at the end of what was flown, and further than two seconds before. */
function runawayCheck({ vehicle, setpoint, scored, recorded }: Facts, settings: Settings): Check[] {
  const end = scored === null ? recorded[1] : scored[1];
  const now = meanDistance(vehicle, [end - 1, end]);
  const before = meanDistance(vehicle, [end - 3, end - 2]);
  const asked = samplePoints(setpoint, Float64Array.of(end - 4, end - 0.01));
  const moved = Math.hypot(asked.x[1]! - asked.x[0]!, asked.y[1]! - asked.y[0]!, asked.z[1]! - asked.z[0]!);
  if (!(now > settings.runaway_distance && now > before + 0.1 && moved < 0.1)) return [];
  return [
    {
      code: "runaway",
      severity: "doubt",
      message: `the vehicle is ${now.toFixed(2)} m from its resting setpoint at the end of the scored window, and getting further`,
      evidence: { distance_m: now, two_seconds_before_m: before, at_s: end },
      hint: "a crash, a take-over by the pilot, or an abort: if so, file it as `outcome: aborted`, it then counts as an outcome",
    },
  ];
}

/** Mean length of the error within a window, both ends included; NaN where there is no sample. */
function meanDistance({ t, error: { x, y, z } }: SubjectTrack, window: Window): number {
  let sum = 0;
  const from = lowerBound(t, window[0]);
  let i = from;
  for (; i < t.length && t[i]! <= window[1]; i++) sum += Math.sqrt(x[i]! * x[i]! + y[i]! * y[i]! + z[i]! * z[i]!);
  return i === from ? Number.NaN : sum / (i - from);
}
