import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import { type Axis, axes, type Subject, type Window } from "../foundation/tracks.ts";
import { mean } from "../numeric/descriptive.ts";
import { fUpperTail } from "../numeric/fUpperTail.ts";
import { lowerBound } from "../numeric/sortedColumns.ts";
import type { SubjectTrack } from "./subjectTracks.ts";

/** The stretch of a window that carries most of its mean square error. */
interface Heaviest {
  readonly axis: Axis;
  readonly share: number;
  readonly from: number;
  readonly to: number;
}

/**
 * A window of which a stretch under a tenth, its ends included, carries more than half of the mean square error of some axis: the
 * figure is then about that stretch, a take-off, a knock, a command that jumps, and not about how steadily was flown.
 */
export function unevenError(
  subjects: Readonly<Partial<Record<Subject, SubjectTrack>>>,
  scored: Window | null,
  isHold: boolean,
  settings: Settings,
): Check[] {
  if (scored === null) return [];
  return Object.entries(subjects).flatMap(([subject, track]) => {
    const found = axes
      .map((axis) => heaviest(track, axis, scored, settings.uneven_stretch))
      .filter((one) => one !== null)
      .filter(({ share }) => share > settings.uneven_share);
    const worst = found.reduce<Heaviest | null>((most, one) => (one.share > (most?.share ?? 0) ? one : most), null);
    return worst === null ? [] : [uneven(subject as Subject, found, worst, scored, isHold)];
  });
}

/**
 * The heaviest stretch of a given share of the window, along one axis, that slow wandering does not explain, at the
 * window's ends as elsewhere. Null where there is none, and for fewer samples than make a tenth of anything.
 */
function heaviest({ t, error }: SubjectTrack, axis: Axis, [from, to]: Window, length: number): Heaviest | null {
  const [first, end] = [lowerBound(t, from), lowerBound(t, to)];
  if (end - first < leastSamples) return null;
  const values = error[axis];
  const square = (i: number): number => values[i]! * values[i]!;
  const longest = length * (to - from);
  let [total, sum, most, left] = [0, 0, 0, first];
  let at: readonly [number, number] = [first, first];
  for (let i = first; i < end; i++) {
    total += square(i);
    sum += square(i);
    while (t[i]! - t[left]! > longest) sum -= square(left++);
    if (sum > most) {
      most = sum;
      at = [left, i];
    }
  }
  if (!(total > 0)) return null;
  const share = most / total;
  if (byChance(values.subarray(first, end), at[0] - first, at[1] - first, share) > chance) return null;
  return { axis, share, from: t[at[0]]!, to: t[at[1]]! };
}

/** A stretch that wandering makes likelier than this in a window is no finding. */
const chance = 1e-5;
/** Parts over which the wandering is followed. */
const parts = 200;

/**
 * How likely wandering of the kind seen in the rest of a window puts that much of its mean square in some stretch of this length: F of
 * the two mean squares, their degrees of freedom by the autocorrelation of the rest (n over 1 + 2 times its sum of squares), times
 * the stretches there are.
 *
 * @source M. S. Bartlett, J. R. Stat. Soc. Suppl. 8 (1946) 27-41: variance of a mean square of a correlated series
 */
function byChance(values: Float64Array, from: number, to: number, share: number): number {
  const size = Math.max(1, Math.floor(values.length / parts));
  const rest = [values.subarray(0, from), values.subarray(to + 1)].map((side) => meansOf(side, size));
  const middle = mean(Float64Array.of(...rest[0]!, ...rest[1]!));
  const product = (lag: number): number =>
    rest.reduce((sum, side) => {
      for (let i = lag; i < side.length; i++) sum += (side[i]! - middle) * (side[i - lag]! - middle);
      return sum;
    }, 0);
  const own = product(0);
  let squares = 0;
  for (let lag = 1; lag < parts / 4; lag++) {
    const correlation = product(lag) / own;
    if (!(correlation > 0)) break;
    squares += correlation * correlation;
  }
  const independent = values.length / size / (1 + 2 * squares);
  const part = (to - from + 1) / values.length;
  const f = share / part / ((1 - share) / (1 - part));
  return fUpperTail(f, part * independent, (1 - part) * independent) / part;
}

function meansOf(values: Float64Array, size: number): Float64Array {
  const means = new Float64Array(Math.floor(values.length / size));
  for (let k = 0; k < means.length; k++) means[k] = mean(values.subarray(k * size, (k + 1) * size));
  return means;
}

/** Fewer samples in a window say nothing of its parts. */
const leastSamples = 100;

function uneven(
  subject: Subject,
  found: readonly Heaviest[],
  { axis, share, from, to }: Heaviest,
  scored: Window,
  isHold: boolean,
): Check {
  const along = found.map((one) => one.axis);
  const part = (to - from) / (scored[1] - scored[0]);
  const near = 0.02 * (scored[1] - scored[0]);
  const atEnd = scored[1] - to < near ? "its end, " : "";
  const place = from - scored[0] < near ? "its beginning, " : atEnd;
  return {
    code: "uneven-error",
    severity: "doubt",
    message: `${subject}: ${(100 * share).toFixed(0)} % of the mean square error along ${axis} lies in ${(100 * part).toFixed(0)} % of the scored window: ${place}${from.toFixed(2)} to ${to.toFixed(2)} s${along.length > 1 ? ` (likewise along ${along.filter((one) => one !== axis).join(", ")})` : ""}`,
    evidence: { subject, axes: along, share, from_s: from, to_s: to, window_s: [scored[0], scored[1]] },
    hint: "look at what happened there: a take-off, a step of the command, a knock, a lost body; leave it out with `span`, or file the run as aborted",
    touches: { subjects: [subject], axes: along, windows: [isHold ? "hold" : "cycles"] },
  };
}
