import type { Trajectory } from "../contract/campaign.ts";
import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import type { Window } from "../foundation/tracks.ts";
import { extent, quantile } from "../numeric/descriptive.ts";
import { lowerBound } from "../numeric/sortedColumns.ts";
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
  return [...holdCheck(facts, settings), ...rateCheck(facts, settings), ...runawayChecks(facts, settings)];
}

function runawayChecks(facts: Facts, settings: Settings): Check[] {
  const left = leftCommand(facts, settings);
  return left.length > 0 ? left : runawayCheck(facts, settings);
}

/**
 * A vehicle that leaves its command, moving or not, and does not come back: beyond `runaway_far`, and five times as far as it is
 * in the better tenth of its flight, from some instant to the end of the scored window, for the first time. A frame that is turned or
 * shifted makes errors as large, but from the beginning on, or to and fro.
 */
function leftCommand({ vehicle, scored }: Facts, settings: Settings): Check[] {
  if (scored === null) return [];
  const { t, error } = vehicle;
  const end = lowerBound(t, scored[1]);
  if (end < 20) return [];
  const off = t.subarray(0, end).map((_, i) => Math.hypot(error.x[i]!, error.y[i]!, error.z[i]!));
  const usual = quantile(off, 0.1);
  const far = Math.max(settings.runaway_far, settings.runaway_ratio * usual);
  // a flight may begin far from its setpoint: on the ground
  const there = off.findIndex((distance) => distance < far);
  const first = off.findIndex((distance, i) => i > there && distance > far);
  // away once, and never back
  if (there < 0 || first < 0 || t[end - 1]! - t[first]! < settings.runaway_least) return [];
  if (off.subarray(first).some((distance) => distance < 0.5 * far)) return [];
  const farthest = extent(off.subarray(first)).high;
  return [
    {
      code: "runaway",
      severity: "unusable",
      message: `the vehicle leaves its command at ${t[first]!.toFixed(1)} s and does not come back within the scored window, up to ${farthest.toFixed(1)} m away; before, it was within ${usual.toFixed(2)} m for a tenth of the time`,
      evidence: {
        leaves_at_s: t[first]!,
        window_end_s: scored[1],
        farthest_m: farthest,
        usual_m: usual,
        beyond_m: far,
      },
      hint: "a crash, a take-over by the pilot, or an abort: file it as `outcome: aborted`, it then counts as an outcome; or end the run before it with `span`",
    },
  ];
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

/** Mean length of the error within a window; NaN where there is no sample. */
function meanDistance({ t, error: { x, y, z } }: SubjectTrack, window: Window): number {
  let sum = 0;
  const from = lowerBound(t, window[0]);
  let i = from;
  for (; i < t.length && t[i]! < window[1]; i++) sum += Math.sqrt(x[i]! * x[i]! + y[i]! * y[i]! + z[i]! * z[i]!);
  return i === from ? Number.NaN : sum / (i - from);
}
