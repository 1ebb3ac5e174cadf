import type { Settings } from "../../contract/settings.ts";
import type { Check } from "../../foundation/checks.ts";
import {
  correlationOfSpectra,
  fourierTransform,
  nextPowerOfTwo,
  type Spectrum,
} from "../../numeric/fourierTransform.ts";
import { standardised } from "./coarseOffset.ts";
import type { MotionSight } from "./motionSight.ts";
import { gridRates, type RateGrid } from "./rateGrid.ts";

/** The offset at which two records show the most motion in common, of all at which they overlap. */
interface OverlapOffset {
  /** that clock minus the reference clock, seconds, to a step of the search */
  readonly offset: number;
  /** log-likelihood of one motion in both records over none, at `offset` */
  readonly evidence: number;
  /** by how much that is more than at the best other peak; `evidence` itself where there is none */
  readonly ahead: number;
  /** the best other peak, seconds; null where there is none */
  readonly rival: number | null;
  /** seconds that the records have in common at `offset` */
  readonly overlap: number;
}

/** Every how many points of the fine grid (10 ms) the search looks: as the coarse search about a known offset. */
const stride = 4;

/**
 * Looks for the offset between two clocks of which nothing is known beforehand, over every offset that leaves at least
 * `overlap` seconds in common.
 *
 * At each offset the samples in common count as one motion seen twice, those left over on either side as seen once:
 *
 *   evidence = -n/2 sum over axes of log(1 - agreement^2)
 *
 * with n independent values in common (one per correlation time of the smoothing) and the agreement of `coarseOffset`.
 * Other than the agreement alone it may be compared between offsets with long and short overlaps: a few seconds that happen
 * to agree weigh less than a whole flight.
 *
 * The clocks count as running at one rate here: 100 ppm over ten minutes are 60 ms, less than what the peak is wide.
 * Cost: 21 Fourier transforms, n log n.
 *
 * @param that       sight on the other clock
 * @param reference  sight on the reference clock
 * @param options.overlap    shortest overlap, seconds
 * @param options.smoothing  sd of the smoothing Gaussian, seconds
 * @returns null where no offset leaves that much in common, or at none do the records agree at all
 * @source evidence: twice the mutual information of two Gaussian columns per independent pair, I = -log(1 - r^2) / 2
 *   (I. M. Gelfand, A. M. Yaglom, Amer. Math. Soc. Transl. 12 (1959) 199-246)
 */
export function searchOverlaps(
  that: RateGrid,
  reference: RateGrid,
  { overlap, smoothing }: { overlap: number; smoothing: number },
): OverlapOffset | null {
  const step = reference.step * stride;
  const a = thinned(reference);
  const b = thinned(that);
  const furthest = Math.max(a.known.length, b.known.length);
  if (Math.min(a.known.length, b.known.length) * step < overlap) return null;
  const length = nextPowerOfTwo(2 * furthest);
  const spectrum = (column: Float64Array): Spectrum => fourierTransform(column, { length });
  const [knownA, knownB] = [spectrum(a.known), spectrum(b.known)];
  const pairs = correlationOfSpectra([[knownA, knownB]], furthest).map(Math.round);
  const independent = step / (2 * smoothing * Math.sqrt(Math.PI));
  const evidence = pairs.map((n) => (n * step < overlap ? Number.NaN : 0));
  for (let axis = 0; axis < 3; axis++) {
    const u = a.rates[axis]!;
    const v = b.rates[axis]!;
    const product = correlationOfSpectra([[spectrum(u), spectrum(v)]], furthest);
    const energy = correlationOfSpectra(
      [
        [spectrum(u.map(square)), knownB],
        [knownA, spectrum(v.map(square))],
      ],
      furthest,
    );
    for (let k = 0; k < evidence.length; k++) {
      const agreement = (2 * product[k]!) / energy[k]!;
      if (agreement > 0)
        evidence[k]! -= 0.5 * independent * pairs[k]! * Math.log1p(-Math.min(agreement ** 2, mostAlike));
    }
  }
  const best = largest(evidence, 0, evidence.length);
  if (best < 0 || !(evidence[best]! > 0)) return null;
  const rival = rivalOf(evidence, best);
  const offsetAt = (k: number): number => (k - furthest) * step + that.start - reference.start;
  return {
    offset: offsetAt(best),
    evidence: evidence[best]!,
    ahead: evidence[best]! - (rival < 0 ? 0 : evidence[rival]!),
    rival: rival < 0 ? null : offsetAt(rival),
    overlap: pairs[best]! * step,
  };
}

/** Two records of one motion without any noise: their evidence stays finite. */
const mostAlike = 1 - 1e-9;
const square = (value: number): number => value * value;

function thinned(grid: RateGrid): { rates: Float64Array[]; known: Float64Array } {
  const thin = (column: ArrayLike<number>): Float64Array =>
    Float64Array.from({ length: Math.ceil(column.length / stride) }, (_, i) => column[i * stride]!);
  return { rates: standardised(grid).map(thin), known: thin(grid.known) };
}

/** The best other peak: the largest beyond the first minimum on either side of the best; -1 where there is none. */
function rivalOf(evidence: Float64Array, best: number): number {
  let left = best;
  while (left > 0 && evidence[left - 1]! < evidence[left]!) left--;
  let right = best;
  while (right < evidence.length - 1 && evidence[right + 1]! < evidence[right]!) right++;
  const before = largest(evidence, 0, left);
  const after = largest(evidence, right + 1, evidence.length);
  if (before < 0 || after < 0) return Math.max(before, after);
  return evidence[after]! > evidence[before]! ? after : before;
}

/** Index of the largest of a stretch, NaN left out; -1 where there is none. */
function largest(values: Float64Array, from: number, to: number): number {
  let best = -1;
  for (let i = from; i < to; i++) if (values[i]! > (best < 0 ? Number.NEGATIVE_INFINITY : values[best]!)) best = i;
  return best;
}

/** What the search over every overlap is about. */
export interface SearchedClocks {
  readonly clock: string;
  readonly signals: readonly [string, string];
  /** what to add to an offset between the two columns to make it one between the stamps, seconds */
  readonly epochs: number;
}

/**
 * The offset between the clocks of two logs that each count from their own start: the one at which they show the most
 * motion in common, wherever they overlap, or the reason why none stands out.
 *
 * @param that       sight on the other clock
 * @param reference  sight on the reference clock
 * @returns `offset` between the two columns, seconds, to some hundredths; null with a check that says why
 */
export function offsetAnywhere(
  that: MotionSight,
  reference: MotionSight,
  { clock, signals, epochs }: SearchedClocks,
  settings: Settings,
): { readonly offset: number; readonly check: null } | { readonly offset: null; readonly check: Check } {
  const smoothing = settings.clock_smoothing;
  const grid = (sight: MotionSight) => gridRates(sight, settings.clock_grid, smoothing);
  const found = searchOverlaps(grid(that), grid(reference), { overlap: settings.clock_overlap, smoothing });
  if (found !== null && found.ahead >= settings.clock_log_likelihood) return { offset: found.offset, check: null };
  const unknown = `the offset of clock ${clock} cannot be found: both logs count from their own start, and`;
  const what = `${signals[0]} and ${signals[1]}`;
  return {
    offset: null,
    check: {
      code: "clock-ambiguous",
      severity: "unusable",
      message:
        found === null
          ? `${unknown} wherever ${what} overlap by ${settings.clock_overlap} s or more they show no motion in common`
          : `${unknown} ${what} agree at ${(found.offset + epochs).toFixed(2)} s about as well as at ${(found.rival! + epochs).toFixed(2)} s`,
      evidence: {
        clock,
        ...(found === null
          ? {}
          : {
              offset_s: found.offset + epochs,
              rival_s: found.rival! + epochs,
              log_likelihood_ahead: found.ahead,
              overlap_s: found.overlap,
            }),
      },
      hint: "check that both logs are of this flight; where both were started by one trigger say `search: 2 s`, else give `near`; next time record the take-off on both, or turn the vehicle by hand as a mark",
    },
  };
}
