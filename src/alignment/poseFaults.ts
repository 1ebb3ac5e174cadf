import { quickselect } from "simple-statistics";
import type { Settings } from "../contract/settings.ts";
import type { CheckCode } from "../foundation/checks.ts";
import type { PoseTrack } from "../foundation/tracks.ts";
import { gatherBy } from "../numeric/sortedColumns.ts";
import { type Excursion, findExcursions } from "./excursions.ts";
import { findHalfFrozen } from "./halfFrozen.ts";
import { findBadAttitudes, findFrozen, findInterpolated } from "./lostPoses.ts";
import { type Gap, receiptGaps, receiptInterval } from "./receiptGaps.ts";

/** Poses that are no measurement: what was found, how many, and when (seconds on the signal's clock). */
export interface Fault {
  readonly code: CheckCode;
  readonly samples: number;
  readonly stretches: readonly (readonly [number, number])[];
  readonly detail: string;
  readonly hint: string;
  /** which samples are the false ones is not known */
  readonly unsure?: boolean;
}

/** A screened pose track: only what was measured is left; what was lost is a gap in `t`. */
export interface ScreenedPoses {
  readonly track: PoseTrack;
  /** median interval of the stamps as logged, or at which messages were sent that are placed by receipt, seconds */
  readonly interval: number;
  readonly faults: readonly Fault[];
  /** stretches left out because the pose jumped away and came back; input to the search for swapped bodies */
  readonly excursions: readonly Excursion[];
}

/**
 * Removes poses that the capture system did not measure: attitudes that are none, frozen, zeroed and interpolated
 * stretches, and excursions (the pose jumps away and returns). Gaps between stamps are reported, not removed.
 *
 * @param raw        poses sorted by time, strictly increasing `t`, metres; quaternions as logged
 * @param byReceipt  whether `t` is when they were received, late by whatever delay, and not when they were measured
 * @returns the remaining poses with unit quaternions of continuous sign, and the faults found
 */
export function screenPoses(raw: PoseTrack, settings: Settings, byReceipt = false): ScreenedPoses {
  const n = raw.t.length;
  const interval = byReceipt ? receiptInterval(raw.t) : medianInterval(raw.t);
  const bad = findBadAttitudes(raw, settings);
  const frozen = findFrozen(raw, bad, settings);
  const half = findHalfFrozen(raw, either(bad, frozen), settings);
  const interpolated = findInterpolated(raw, interval, bad, frozen, settings);
  const dropped = new Uint8Array(n);
  for (let i = 0; i < n; i++)
    dropped[i] = bad[i]! | frozen[i]! | half.position[i]! | half.attitude[i]! | interpolated[i]!;
  const { returned, lost, excursions } = findExcursions(raw, dropped, interval, settings);
  const faults: Fault[] = [];
  const add = (code: CheckCode, flags: Uint8Array, detail: string, hint: string, unsure = false): void => {
    if (!flags.includes(1)) return;
    faults.push({ code, samples: count(flags), stretches: stretchesOf(raw.t, flags, interval), detail, hint, unsure });
  };
  add(
    "bad-quaternion",
    bad,
    "poses whose quaternion is zero, not finite or not of unit norm, or whose position is not finite",
    "capture systems write such poses where they lost the body; they were left out",
  );
  add(
    "frozen",
    frozen,
    "poses that repeat exactly or stand at the origin",
    "the stream went on with an old pose while the body was lost; the copies were left out",
  );
  add(
    "frozen",
    half.position,
    "poses whose position repeats exactly while the attitude goes on",
    "the tracker held the last point of a body that it had lost; the copies were left out",
  );
  add(
    "frozen",
    half.attitude,
    "poses whose attitude repeats exactly while the position goes on",
    "the attitude was no longer solved, as with too few markers in view; the copies were left out",
  );
  add(
    "frozen",
    interpolated,
    "poses on an exact straight line between their neighbours: interpolated, not measured",
    "switch off gap filling in the capture software; the filled poses were left out",
  );
  add(
    "jump",
    returned,
    "poses that jump away faster than the vehicle can fly, and come back",
    "look for reflections, a body with symmetric markers, or swapped labels; they were left out",
  );
  add(
    "jump",
    lost,
    "poses on the shorter side of a jump from which the track never comes back",
    "the capture lost the body for another or was calibrated again; which side is right is not known, the longer was kept",
    true,
  );
  const gaps = byReceipt
    ? receiptGaps(raw.t, interval, settings.gap_intervals * interval)
    : findGaps(raw.t, interval, settings);
  if (gaps.length > 0) {
    faults.push({
      code: "gap",
      samples: gaps.reduce((sum, { missing }) => sum + missing, 0),
      stretches: gaps.map(({ from, to }) => [from, to]),
      detail: "samples missing from the stream",
      hint: "look for occluded markers or a dropped network link; nothing was filled in",
    });
  }
  if (excursions.length > 0) for (let i = 0; i < n; i++) dropped[i] = dropped[i]! | returned[i]! | lost[i]!;
  return { track: keepPoses(raw, dropped), interval, faults, excursions };
}

/** Median step of a strictly increasing time column, seconds; NaN for fewer than two instants. */
export function medianInterval(t: Float64Array): number {
  if (t.length < 2) return Number.NaN;
  const steps = new Float64Array(t.length - 1);
  for (let i = 1; i < t.length; i++) steps[i - 1] = t[i]! - t[i - 1]!;
  // in place: the steps are ours
  quickselect(steps as unknown as number[], steps.length >> 1);
  return steps[steps.length >> 1]!;
}

/** Gaps of a time column: neighbouring instants further apart than `gap_intervals` median intervals. */
export function findGaps(t: Float64Array, interval: number, settings: Settings): Gap[] {
  const gaps: Gap[] = [];
  const longest = settings.gap_intervals * interval;
  for (let i = 1; i < t.length; i++) {
    const [from, to] = [t[i - 1]!, t[i]!];
    if (to - from > longest) gaps.push({ from, to, missing: Math.max(1, Math.round((to - from) / interval) - 1) });
  }
  return gaps;
}

function either(one: Uint8Array, other: Uint8Array): Uint8Array {
  return one.map((flag, i) => flag | other[i]!);
}

function count(flags: Uint8Array): number {
  let sum = 0;
  for (let i = 0; i < flags.length; i++) sum += flags[i]!;
  return sum;
}

/** Flagged samples joined to stretches; flags less than two intervals apart belong together. */
function stretchesOf(t: Float64Array, flags: Uint8Array, interval: number): [number, number][] {
  const stretches: [number, number][] = [];
  for (let i = 0; i < flags.length; i++) {
    if (flags[i] === 0) continue;
    const last = stretches.at(-1);
    if (last && t[i]! - last[1] <= 2.5 * interval) last[1] = t[i]!;
    else stretches.push([t[i]!, t[i]!]);
  }
  return stretches;
}

/** The poses that were not dropped, of unit norm and with the sign of each quaternion nearest to the one before. */
function keepPoses(raw: PoseTrack, dropped: Uint8Array): PoseTrack {
  const rows = new Uint32Array(dropped.length);
  let n = 0;
  for (let i = 0; i < dropped.length; i++) if (dropped[i] === 0) rows[n++] = i;
  const take = gatherBy(rows, n);
  const out = {
    t: take(raw.t),
    x: take(raw.x),
    y: take(raw.y),
    z: take(raw.z),
    qx: take(raw.qx),
    qy: take(raw.qy),
    qz: take(raw.qz),
    qw: take(raw.qw),
  };
  if (isUnitContinuous(out.qx, out.qy, out.qz, out.qw)) return out;
  const own = { ...out, qx: out.qx.slice(), qy: out.qy.slice(), qz: out.qz.slice(), qw: out.qw.slice() };
  unitContinuous(own.qx, own.qy, own.qz, own.qw);
  return own;
}

/** Whether quaternions are of unit norm to rounding and of continuous sign already. */
function isUnitContinuous(qx: Float64Array, qy: Float64Array, qz: Float64Array, qw: Float64Array): boolean {
  for (let i = 0; i < qx.length; i++) {
    const square = qx[i]! * qx[i]! + qy[i]! * qy[i]! + qz[i]! * qz[i]! + qw[i]! * qw[i]!;
    if (Math.abs(square - 1) > 1e-14) return false;
    if (i === 0) continue;
    const dot = qx[i]! * qx[i - 1]! + qy[i]! * qy[i - 1]! + qz[i]! * qz[i - 1]! + qw[i]! * qw[i - 1]!;
    if (dot < 0) return false;
  }
  return true;
}

/** Scales quaternions to unit norm and continuous sign, in place. */
function unitContinuous(qx: Float64Array, qy: Float64Array, qz: Float64Array, qw: Float64Array): void {
  let px = 0;
  let py = 0;
  let pz = 0;
  let pw = 0;
  for (let i = 0; i < qx.length; i++) {
    const square = qx[i]! * qx[i]! + qy[i]! * qy[i]! + qz[i]! * qz[i]! + qw[i]! * qw[i]!;
    // a norm that is right to rounding is left alone, so that a track and its negative stay the same to the last digit
    let scale = Math.abs(square - 1) > 1e-14 ? 1 / Math.sqrt(square) : 1;
    if (px * qx[i]! + py * qy[i]! + pz * qz[i]! + pw * qw[i]! < 0) scale = -scale;
    px = qx[i]! * scale;
    py = qy[i]! * scale;
    pz = qz[i]! * scale;
    pw = qw[i]! * scale;
    qx[i] = px;
    qy[i] = py;
    qz[i] = pz;
    qw[i] = pw;
  }
}
