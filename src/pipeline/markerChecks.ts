import type { Check } from "../foundation/checks.ts";
import type { RecordedSignal } from "../foundation/recording.ts";
import type { Vector3 } from "../foundation/units.ts";
import { median } from "../numeric/descriptive.ts";
import { fittedTurns } from "../numeric/harmonicBasis.ts";

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
const markersScatter = 0.01;

/** Largest distance of two markers, metres. */
function bodySize(places: readonly Vector3[]): number {
  return Math.max(...places.flatMap(([x, y, z]) => places.map(([a, b, c]) => Math.hypot(x - a, y - b, z - c))));
}

/** By how much a pose may be wrong before it is doubted, metres. */
function allowedMisfit(size: number): number {
  return Math.max(largestMisfit, largestMisfitShare * size);
}

/**
 * A body whose markers do not fit their declared places has wrong poses, however small its noise: throughout, or for the
 * stretch in which two labels are exchanged.
 */
function misfitCheck(signal: RecordedSignal, places: readonly Vector3[]): Check[] {
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
  if (stretch === null && astray <= markersScatter * misfit.length) return null;
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

/** Share of the frames that may rest on markers near one line without standing together. */
const scattered = 0.01;

/** How surely one set of markers holds a body. */
interface Hold {
  readonly labels: readonly string[];
  /** metres, about the axis that it fixes worst */
  readonly spread: number;
  /** how far the turn moves what is as far from that axis as the body is large, for each unit of a marker's noise */
  readonly amplification: number;
}

/**
 * Markers near one line leave the turn about it to their noise. How much of it is too much follows from the geometry: the
 * turn may move what is as far from the line as the body is large by no more than markers may miss their declared places by.
 * The largest amplification is that length over the noise of a marker.
 */
function turnCheck(
  { signal, fit, fits, stamped, received }: RecordedSignal,
  places: Readonly<Record<string, Vector3>>,
): Check[] {
  // noise of 0 leaves any turn alone
  if (fit === undefined || fits === undefined || !fits.noise) return [];
  const { noise } = fits;
  const body = fit.markers.map((label) => places[label]!);
  const size = bodySize(body);
  const largest = allowedMisfit(size) / noise;
  const holds = fits.sets.map((set) => holdOf(set, fit.markers, body, size));
  const amplification = Float64Array.from(fits.set, (set) => holds[set]!.amplification);
  const beyond = amplification.reduce((count, value) => count + Number(value > largest), 0);
  const stretch = worstStretch(amplification, largest);
  if (beyond === 0 || (stretch === null && beyond <= scattered * amplification.length)) return [];
  const worst = holds.reduce((a, b) => (b.amplification > a.amplification ? b : a));
  const { seconds } = stamped ?? received;
  const [from, to] = stretch === null ? [null, null] : [seconds[stretch.first]!, seconds[stretch.last]!];
  const turn = noise / worst.spread;
  const where =
    beyond === amplification.length
      ? ""
      : `in ${beyond} of ${amplification.length} frames${from === null ? "" : `, most of them from ${from.toFixed(2)} s to ${to!.toFixed(2)} s of the capture,`} `;
  return [
    {
      code: "frame-suspect",
      severity: "doubt",
      message: `${signal}: ${where}its markers ${worst.labels.join(", ")} lie so near one line that their noise of ${(1e3 * noise).toFixed(2)} mm turns the body about it by ${((180 / Math.PI) * turn).toFixed(1)} degrees rms, and what is as far from it as the body is large, ${(1e3 * size).toFixed(0)} mm, by ${(1e3 * noise * worst.amplification).toFixed(1)} mm`,
      evidence: {
        signal,
        markers: worst.labels.join(", "),
        frames: amplification.length,
        frames_beyond: beyond,
        from_s: from,
        to_s: to,
        noise_m: noise,
        spread_m: worst.spread,
        turn_rad: turn,
        amplification: worst.amplification,
        largest_amplification: largest,
        size_m: size,
      },
      hint: "set a marker off that line, the farther the better; until then the attitude about it is mostly noise",
    },
  ];
}

function holdOf(set: readonly number[], labels: readonly string[], body: readonly Vector3[], size: number): Hold {
  const { spread } = fittedTurns(set.flatMap((k) => body[k]!)).axes[0];
  return { labels: set.map((k) => labels[k]!), spread, amplification: size / spread };
}

/**
 * What a body solved from markers rests on: markers that were missing or filled in, places that do not fit, and markers too
 * near one line. Nothing to say where every marker was measured throughout, lies where it is declared, and fixes the pose.
 *
 * @param places  label -> place in the body's marker frame, metres
 */
export function markerChecks(signal: RecordedSignal, places: Readonly<Record<string, Vector3>>): Check[] {
  return [...unmeasuredCheck(signal), ...misfitCheck(signal, Object.values(places)), ...turnCheck(signal, places)];
}

function unmeasuredCheck({ signal, fit }: RecordedSignal): Check[] {
  if (fit === undefined || fit.missing + fit.modelled === 0) return [];
  const readings = fit.frames * fit.markers.length;
  return [
    {
      code: "gap",
      severity: "note",
      message: `${signal}: of ${readings} readings of ${fit.markers.length} marker(s) ${fit.missing} are missing and ${fit.modelled} were filled in instead of measured; poses rest on the others, ${fit.solved} of ${fit.frames} frames have one`,
      evidence: {
        markers: fit.markers.join(", "),
        frames: fit.frames,
        solved: fit.solved,
        missing: fit.missing,
        modelled: fit.modelled,
        residual_m: fit.residual,
      },
      hint: "look for occluded markers, and switch off gap filling before the export",
    },
  ];
}
