import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import type { PoseTrack } from "../foundation/tracks.ts";
import { median } from "../numeric/descriptive.ts";

/**
 * Whether a pose was somewhere else from one sample to the next and stayed there: a marker that moved on the body, or a body
 * found again by other markers. Such a step may be far slower than what no body can do, and yet no body does it: it would have
 * to start and stop within one sample.
 *
 * A step counts where it stands out from the steps on either side, which a change of speed does not, and where what follows
 * stays shifted against what came before, which a single stray pose does not.
 *
 * @param track     screened, metres and quaternions of continuous sign
 * @param interval  median interval, seconds
 */
export function shiftCheck(signal: string, track: PoseTrack, interval: number, settings: Settings): Check[] {
  const n = track.t.length;
  if (n < 50) return [];
  const places = measured(n);
  const attitudes = measured(n);
  fillSteps(track, interval, places);
  fillTurns(track, interval, attitudes);
  const found = [
    shiftOf(
      track,
      places,
      Math.max(leastShift(places, settings), settings.shift_acceleration * interval ** 2),
      settings,
    ),
    shiftOf(
      track,
      attitudes,
      Math.max(settings.shift_angle, settings.shift_turn_acceleration * interval ** 2),
      settings,
    ),
  ];
  return found.flatMap((shift, k): Check[] => {
    if (shift === null) return [];
    const size =
      k === 0 ? `${(1e3 * shift.size).toFixed(0)} mm` : `${((180 / Math.PI) * shift.size).toFixed(1)} degrees`;
    return [
      {
        code: "jump",
        severity: "doubt",
        message: `${signal}: ${k === 0 ? "the body" : "the body's attitude"} shifted by ${size} from one sample to the next and stayed so, ${shift.at.toFixed(2)} s after the first pose${shift.count > 1 ? ` (the largest of ${shift.count})` : ""}`,
        evidence: {
          signal,
          count: shift.count,
          at_s: shift.at,
          ...(k === 0 ? { shift_m: shift.size } : { shift_rad: shift.size }),
        },
        hint: "a marker that came loose, or a body found again by other markers: look at the capture; what lies before and after is not one body",
      },
    ];
  });
}

/** A step that no noise makes may be small: 12 mm among steps of a few tenths is no motion either. */
function leastShift({ all }: Measured, settings: Settings): number {
  const small = Math.max(settings.shift_small_distance, settings.shift_small_ratio * median(all));
  return Math.min(settings.shift_distance, small);
}

/** Of each sample and the next. */
interface Measured {
  /** how far the step stands out from its neighbours, metres or radians */
  readonly all: Float64Array;
  /** the same where it is a step that stays; else 0 */
  readonly staying: Float64Array;
}

const measured = (n: number): Measured => ({ all: new Float64Array(n), staying: new Float64Array(n) });

/** The largest step that stands out, seconds after the first pose; null where none does. */
function shiftOf(
  { t }: PoseTrack,
  { all, staying }: Measured,
  least: number,
  settings: Settings,
): { size: number; at: number; count: number } | null {
  const limit = Math.max(least, settings.shift_usual_ratio * median(all));
  let count = 0;
  let best = -1;
  for (let i = 0; i < staying.length; i++) {
    if (!(staying[i]! > limit)) continue;
    count++;
    if (best < 0 || staying[i]! > staying[best]!) best = i;
  }
  return best < 0 ? null : { size: staying[best]!, at: t[best + 1]! - t[0]!, count };
}

/** Squares of two sizes count as alike above this ratio: sizes within 15 %. */
const alike = 0.72;

/** Whether the samples from one to another follow each other at the usual interval: none is missing in between. */
function isEven(t: Float64Array, from: number, to: number, interval: number): boolean {
  for (let i = from; i < to; i++) {
    const step = t[i + 1]! - t[i]!;
    if (step > 1.5 * interval || step < 0.5 * interval) return false;
  }
  return true;
}

/** A pose stamped an interval and a half too early or late, at the body's speed, is no shift. */
const misplaced = 1.5;

/** By how much the three positions after each sample lie beside the three up to it, carried on at the speed of both. */
function fillSteps({ t, x, y, z }: PoseTrack, interval: number, { all, staying }: Measured): void {
  for (let i = 2; i + 3 < t.length; i++) {
    const [dt, before, after] = [t[i + 1]! - t[i]!, t[i]! - t[i - 1]!, t[i + 2]! - t[i + 1]!];
    const paced = t[i]! - t[i - 2]! + t[i + 3]! - t[i + 1]!;
    const apart = (t[i + 1]! + t[i + 2]! + t[i + 3]! - t[i]! - t[i - 1]! - t[i - 2]!) / 3;
    let step = 0;
    let shift = 0;
    let speed = 0;
    for (let axis = 0; axis < 3; axis++) {
      const p = axis === 0 ? x : axis === 1 ? y : z;
      // the step less what its neighbours' speed would make
      const own = p[i + 1]! - p[i]! - 0.5 * dt * ((p[i]! - p[i - 1]!) / before + (p[i + 2]! - p[i + 1]!) / after);
      const pace = (p[i]! - p[i - 2]! + p[i + 3]! - p[i + 1]!) / paced;
      const moved = (p[i + 1]! + p[i + 2]! + p[i + 3]! - p[i]! - p[i - 1]! - p[i - 2]!) / 3;
      const beside = moved - apart * pace;
      step += own * own;
      shift += beside * beside;
      speed += pace * pace;
    }
    const size = Math.sqrt(step);
    all[i] = size;
    // of a step both are its size; of a stray pose they are as 18 to 13 or 3 to 2, of a change of speed 0 to anything
    if (!(shift > alike * step && step > alike * shift)) continue;
    if (size > misplaced * interval * Math.sqrt(speed) && isEven(t, i - 2, i + 3, interval)) staying[i] = size;
  }
}

/** Turn from each sample to the next where its neighbours turn by little, and it is still there a sample later. */
function fillTurns({ t, qx, qy, qz, qw }: PoseTrack, interval: number, { all, staying }: Measured): void {
  const angle = (i: number, j: number): number => {
    const dot = Math.abs(qx[i]! * qx[j]! + qy[i]! * qy[j]! + qz[i]! * qz[j]! + qw[i]! * qw[j]!);
    return 2 * Math.acos(Math.min(1, dot));
  };
  for (let i = 1; i + 2 < t.length; i++) {
    const turn = angle(i, i + 1);
    all[i] = turn;
    // most steps are small: the rest is not asked for
    if (turn < 0.01) continue;
    if (!(angle(i - 1, i) < 0.3 * turn && angle(i + 1, i + 2) < 0.3 * turn && angle(i - 1, i + 2) > 0.7 * turn))
      continue;
    if (isEven(t, i - 1, i + 2, interval)) staying[i] = turn;
  }
}
