import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import { type Axis, axes, type Subject } from "../foundation/signals.ts";
import type { Window } from "../foundation/tracks.ts";
import { lowerBound } from "../numeric/lowerBound.ts";
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

/** The heaviest stretch of a given share of the window, along one axis; null for fewer samples than make a tenth of anything. */
function heaviest({ t, error }: SubjectTrack, axis: Axis, [from, to]: Window, length: number): Heaviest | null {
  const [first, end] = [lowerBound(t, from), lowerBound(t, to)];
  if (end - first < leastSamples) return null;
  const square = (i: number): number => error[axis][i]! * error[axis][i]!;
  const longest = length * (to - from);
  let [total, sum, most, left] = [0, 0, 0, first];
  let at: readonly [number, number] = [from, from];
  for (let i = first; i < end; i++) {
    total += square(i);
    sum += square(i);
    while (t[i]! - t[left]! > longest) sum -= square(left++);
    if (sum > most) {
      most = sum;
      at = [t[left]!, t[i]!];
    }
  }
  return total > 0 ? { axis, share: most / total, from: at[0], to: at[1] } : null;
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
