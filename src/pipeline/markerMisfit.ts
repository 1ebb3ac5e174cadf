import type { Check } from "../foundation/checks.ts";
import type { RecordedSignal } from "../foundation/recording.ts";
import type { Vector3 } from "../foundation/units.ts";
import { median } from "../numeric/descriptive.ts";

/** Rows [first, last] of a column. */
interface Stretch {
  readonly first: number;
  readonly last: number;
  /** how many of them are beyond the limit */
  readonly beyond: number;
}

/** Fewer rows beyond the limit, or rows farther apart, are single readings gone astray and no stretch. */
const least = 5;
const within = 20;

/**
 * The stretch with most values beyond a limit, where stretches are made of 5 such values among 20 rows in a row and what
 * overlaps them.
 *
 * @returns null where values beyond the limit stand alone, or there are none
 */
export function worstStretch(values: Float64Array, limit: number): Stretch | null {
  const rows: number[] = [];
  values.forEach((value, row) => {
    if (value > limit) rows.push(row);
  });
  let worst: Stretch | null = null;
  let start = -1;
  let end = -1;
  for (let k = 0; k + least <= rows.length; k++) {
    if (rows[k + least - 1]! - rows[k]! >= within) continue;
    if (k > end) start = k;
    end = k + least - 1;
    const beyond = end - start + 1;
    if (worst === null || beyond > worst.beyond) worst = { first: rows[start]!, last: rows[end]!, beyond };
  }
  return worst;
}

/** Metres, and share of the body's size, beyond which markers do not lie where they are declared: common practice, no source. */
const largestMisfit = 0.003;
const largestMisfitShare = 0.05;
/**
 * A frame is judged against the run it stands in, whose median holds the noise and what the places are declared wrongly by:
 * beyond this many medians. Three markers with noise alone reach it in 1 of 10^4 frames (chi-squared with 3 degrees of
 * freedom), more markers hardly ever.
 */
const contrast = 3;
/** Share of the frames that may be astray without standing together. */
const scattered = 0.01;

/** Largest distance of two markers, metres. */
export function bodySize(places: readonly Vector3[]): number {
  return Math.max(...places.flatMap(([x, y, z]) => places.map(([a, b, c]) => Math.hypot(x - a, y - b, z - c))));
}

/** By how much a pose may be wrong before it is doubted, metres. */
export function allowedMisfit(size: number): number {
  return Math.max(largestMisfit, largestMisfitShare * size);
}

/**
 * A body whose markers do not fit their declared places has wrong poses, however small its noise: throughout, or for the
 * stretch in which two labels are exchanged.
 */
export function misfitCheck(signal: RecordedSignal, places: readonly Vector3[]): Check[] {
  const { fit } = signal;
  if (fit === undefined || places.length < 3) return [];
  const size = bodySize(places);
  const partial = misfitInPart(signal, size);
  if (partial !== null) return [partial];
  if (!(fit.residual > allowedMisfit(size))) return [];
  return [
    {
      code: "frame-suspect",
      severity: "doubt",
      message: `${signal.signal}: its markers miss their declared places by ${millimetres(fit.residual)} mm rms on a body of ${(1e3 * size).toFixed(0)} mm; its poses are wrong by as much`,
      evidence: { signal: signal.signal, markers: fit.markers.join(", "), residual_m: fit.residual, size_m: size },
      hint: "are two labels exchanged, a marker moved, the places mirrored or in another unit?",
    },
  ];
}

/** Null where the misfit is not that of a part of the frames. */
function misfitInPart({ signal, fit, fits, stamped, received }: RecordedSignal, size: number): Check | null {
  if (fit === undefined || fits === undefined || fits.misfit.length === 0) return null;
  const { misfit } = fits;
  const limit = Math.max(largestMisfit, contrast * median(misfit));
  const astray = misfit.reduce((count, value) => count + Number(value > limit), 0);
  const stretch = worstStretch(misfit, limit);
  if (stretch === null && astray <= scattered * misfit.length) return null;
  const highest = misfit.reduce((best, value, row) => (value > misfit[best]! ? row : best), 0);
  const { first, last } = stretch ?? { first: highest, last: highest };
  const { seconds } = stamped ?? received;
  const part = misfit.subarray(first, last + 1);
  const rms = Math.sqrt(part.reduce((sum, value) => sum + value * value, 0) / part.length);
  const [from, to] = [seconds[first]!, seconds[last]!];
  const worst =
    stretch === null
      ? `worst at ${from.toFixed(2)} s of the capture`
      : `most of them from ${from.toFixed(2)} s to ${to.toFixed(2)} s of the capture`;
  return {
    code: "frame-suspect",
    severity: "doubt",
    message: `${signal}: in ${astray} of ${misfit.length} frames its markers miss their declared places by more than ${millimetres(limit)} mm, ${worst}, there by ${millimetres(rms)} mm rms on a body of ${(1e3 * size).toFixed(0)} mm; its poses there are wrong by as much`,
    evidence: {
      signal,
      markers: fit.markers.join(", "),
      frames: misfit.length,
      frames_beyond: astray,
      limit_m: limit,
      from_s: from,
      to_s: to,
      stretch_m: rms,
      residual_m: fit.residual,
      size_m: size,
    },
    hint: "look at these seconds in the capture's software: were two labels exchanged, or was a reflection taken for a marker?",
  };
}

const millimetres = (metres: number): string => (1e3 * metres).toFixed(1);
