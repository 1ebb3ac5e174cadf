import type { Window } from "../foundation/tracks.ts";
import { standardGravity } from "../foundation/units.ts";
import { mean, sampleStandardDeviation } from "../numeric/descriptive.ts";
import { fourierSums } from "../numeric/fourierSums.ts";
import { successiveDifferenceNoise } from "./measurementNoise.ts";

/** A phasor a - i b of a cos(k theta) + b sin(k theta): real part, imaginary part. */
export type Phasor = readonly [re: number, im: number];

/** What the capture saw of one body and its arm, at the same n instants. Columns without NaN. */
export interface ArmMotion {
  readonly t: Float64Array;
  /** centre of mass of the whole with the arm at its mean posture, a point fixed in the body: horizontal, world axes, metres */
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** attitude, body to world */
  readonly qx: Float64Array;
  readonly qy: Float64Array;
  readonly qz: Float64Array;
  readonly qw: Float64Array;
  /** control point of the arm in the vehicle's body axes, metres */
  readonly sx: Float64Array;
  readonly sy: Float64Array;
}

/** One harmonic along one horizontal axis of the vehicle's mean heading; moment and apparent mass per kilogram of the whole. */
export interface MovingHarmonic {
  readonly k: number;
  /** of the control point, metres */
  readonly travel: Phasor;
  /** of real and imaginary part of `travel`, each; they do not covary */
  readonly travelVariance: number;
  /** moving moment over the mass of the whole, metres */
  readonly moment: Phasor;
  /** apparent moving mass over the mass of the whole */
  readonly apparent: Phasor;
  /** of real and imaginary part of `apparent`, each; they do not covary */
  readonly variance: number;
  /** thrust direction (horizontal part of the body's z axis over its vertical part) */
  readonly tilt: Phasor;
  /** of real and imaginary part of `tilt`, each; they do not covary */
  readonly tiltVariance: number;
}

export interface MovingMoment {
  readonly x: readonly MovingHarmonic[];
  readonly y: readonly MovingHarmonic[];
  /** whole cycles that it rests on, in a row and without a gap */
  readonly cycles: number;
  /** tilt that is not distinguished from the noise of the attitude: nothing can be said along it */
  readonly level: readonly ("x" | "y")[];
}

export interface MovingOptions {
  readonly harmonics: number;
  readonly neighbours: number;
  /** fewest cycles */
  readonly leastCycles: number;
  /** the control point travels at least this far (amplitude), metres */
  readonly leastTravel: number;
  /** a step in time of more than this share of a cycle is a gap */
  readonly gapShare: number;
  /** tilt at its noise: its deviation is below this many times its successive-difference noise */
  readonly tiltRatio: number;
}

/**
 * Moving moment of an arm from flight: in free flight only gravity, thrust and drag act from outside, so the horizontal
 * momentum of the whole follows the thrust's direction alone,
 *
 *   m X'' + (u s)'' = m g D
 *
 * X: centre of mass at the arm's mean posture; D: horizontal over vertical part of the body's z axis, in the world; s: travel
 * of the control point in the body; u: apparent moving mass. Multiplied by phi = sin^2(pi t / T) exp(-i W t) over whole cycles
 * and integrated by parts, nothing has to be differentiated, and starting transients do not disturb:
 *
 *   u / m = ( g <D phi> - <X phi''> ) / <s phi''>
 *
 * No gains, no inertia, no motor and no clock offset enter. phi is three turning phasors, so that all integrals follow from
 * Fourier sums at neighbouring bins. The same sums between the harmonics, the arm's part taken out, are noise: their mean in
 * pairs about the harmonic (geometric, as the density may fall across them) is the variance. Fourier sums are sums with the
 * steps between the samples as weights; longest stretch of whole cycles without a gap.
 *
 * Left out: vertical acceleration (with a mean tilt it enters to first order), drag, an offset of the thrust's axis.
 *
 * @param motion   n instants that reach over the cycles
 * @param cycles   consecutive whole cycles of equal length, seconds
 * @returns null with fewer cycles in a row than `leastCycles`
 * @source M. Shinbrot, Trans. ASME 79 (1957) 547-554 (modulating functions); the momentum balance is Newton's
 */
export function movingMoment(
  motion: ArmMotion,
  cycles: readonly Window[],
  options: MovingOptions,
): MovingMoment | null {
  const stretch = longestWhole(motion.t, cycles, options.gapShare);
  if (stretch.length < options.leastCycles) return null;
  const window: Window = [stretch[0]![0], stretch.at(-1)![1]];
  const from = motion.t.findIndex((time) => time >= window[0]);
  const end = motion.t.findIndex((time) => time >= window[1]);
  const within = (column: Float64Array): Float64Array => column.subarray(from, end < 0 ? column.length : end);
  const t = within(motion.t);
  const steps = stepsOf(t, window);
  const { tilt, place } = inHeading({
    x: within(motion.x),
    y: within(motion.y),
    qx: within(motion.qx),
    qy: within(motion.qy),
    qz: within(motion.qz),
    qw: within(motion.qw),
  });
  const travel = { x: within(motion.sx), y: within(motion.sy) };
  const found = { x: [] as MovingHarmonic[], y: [] as MovingHarmonic[] };
  const level: ("x" | "y")[] = [];
  for (const axis of ["x", "y"] as const) {
    // cheap look first: most runs travel along one horizontal axis, or none
    if (!(Math.SQRT2 * sampleStandardDeviation(travel[axis]) >= options.leastTravel)) continue;
    const series = [tilt[axis], place[axis], travel[axis]].map((column) => weighed(column, steps));
    const harmonics = harmonicsOf(t, series, window, stretch.length, options);
    if (harmonics.length === 0) continue;
    if (!(sampleStandardDeviation(tilt[axis]) > options.tiltRatio * successiveDifferenceNoise(tilt[axis])))
      level.push(axis);
    else found[axis] = harmonics;
  }
  return { ...found, cycles: stretch.length, level };
}

function harmonicsOf(
  t: Float64Array,
  series: readonly Float64Array[],
  window: Window,
  cycles: number,
  { harmonics, neighbours, leastTravel }: MovingOptions,
): MovingHarmonic[] {
  const duration = window[1] - window[0];
  const reach = Math.min(neighbours, cycles - 2);
  const [d, x, s] = fourierSums(t, series, window, harmonics * cycles + reach + 2) as [Sums, Sums, Sums];
  const rate = (bin: number): number => (2 * Math.PI * bin) / duration;
  /** bins whose test function reaches a harmonic */
  const nearHarmonic = (bin: number): boolean => Math.min(bin % cycles, cycles - (bin % cycles)) < 2;
  const found: MovingHarmonic[] = [];
  for (let k = 1; k <= harmonics; k++) {
    const centre = k * cycles;
    const swing = ({ bin, of }: { bin: number; of: Sums }): Phasor => integral(of, bin, rate, 2);
    const pushed = (bin: number): Phasor =>
      less(times(integral(d, bin, rate, 0), standardGravity), integral(x, bin, rate, 2));
    const arm = swing({ bin: centre, of: s });
    const apparent = over(pushed(centre), arm);
    /** phasor of a series as it is: second derivatives would raise one side's noise and lower the other's */
    const plainly = (of: Sums, bin: number): Phasor => times(integral(of, bin, rate, 0), 4 / duration);
    let [noise, travelNoise, tiltNoise, pairs] = [0, 0, 0, 0];
    for (let apart = 2; apart <= reach + 1; apart++) {
      const pair = [centre - apart, centre + apart] as const;
      if (pair[0] < 2 || pair.some(nearHarmonic)) continue;
      const left = pair.map((bin) => size(less(pushed(bin), product(apparent, swing({ bin, of: s })))));
      noise += left[0]! * left[1]!;
      travelNoise += size(plainly(s, pair[0])) * size(plainly(s, pair[1]));
      tiltNoise += size(plainly(d, pair[0])) * size(plainly(d, pair[1]));
      pairs++;
    }
    // the geometric mean of two exponential deviates has mean pi / 4; half of the square is the real part's
    const share = pairs === 0 ? Number.NaN : 1 / pairs / (Math.PI / 4);
    const factor = -4 / (rate(centre) ** 2 * duration);
    const travel = times(arm, factor);
    if (!(size(travel) >= leastTravel && size(travel) ** 2 > 9 * travelNoise * share)) continue;
    found.push({
      k,
      travel,
      travelVariance: 0.5 * travelNoise * share,
      moment: times(pushed(centre), factor),
      apparent,
      variance: (0.5 * noise * share) / size(arm) ** 2,
      tilt: plainly(d, centre),
      tiltVariance: 0.5 * tiltNoise * share,
    });
  }
  return found;
}

type Sums = ReturnType<typeof fourierSums>[number];

/** Integral of a series with the test function of a bin, or with its second derivative: that of three turning phasors. */
function integral({ re, im }: Sums, bin: number, rate: (bin: number) => number, derivative: 0 | 2): Phasor {
  const weight = (j: number): number => (derivative === 0 ? 1 : -(rate(j) ** 2));
  const part = (column: Float64Array): number =>
    0.5 * weight(bin) * column[bin]! - 0.25 * (weight(bin - 1) * column[bin - 1]! + weight(bin + 1) * column[bin + 1]!);
  return [part(re), part(im)];
}

/** The longest run of cycles that no gap interrupts. */
function longestWhole(t: Float64Array, cycles: readonly Window[], gapShare: number): readonly Window[] {
  let best: Window[] = [];
  let here: Window[] = [];
  let i = 0;
  for (const cycle of cycles) {
    const widest = gapShare * (cycle[1] - cycle[0]);
    while (i < t.length && t[i]! < cycle[0]) i++;
    let before = cycle[0];
    let whole = true;
    for (; i < t.length && t[i]! < cycle[1]; i++) {
      whole &&= t[i]! - before <= widest;
      before = t[i]!;
    }
    whole &&= cycle[1] - before <= widest;
    here = whole ? [...here, cycle] : [];
    if (here.length > best.length) best = here;
  }
  return best;
}

/** Weight of each sample in an integral over the window by straight lines between the samples. */
function stepsOf(t: Float64Array, [from, to]: Window): Float64Array {
  const last = t.length - 1;
  return t.map((time, i) => {
    const before = i === 0 ? from : 0.5 * (t[i - 1]! + time);
    const after = i === last ? to : 0.5 * (time + t[i + 1]!);
    return after - before;
  });
}

/** Series about its mean times the weights: a constant has no part in the integrals, and no rounding of it is to have one. */
function weighed(column: Float64Array, steps: Float64Array): Float64Array {
  const centre = mean(column);
  return column.map((value, i) => (value - centre) * steps[i]!);
}

/** Thrust direction and place along the vehicle's mean heading (x forward, y left). */
function inHeading({ x, y, qx, qy, qz, qw }: Omit<ArmMotion, "t" | "sx" | "sy">): {
  readonly tilt: { readonly x: Float64Array; readonly y: Float64Array };
  readonly place: { readonly x: Float64Array; readonly y: Float64Array };
} {
  const n = x.length;
  const out = () => ({ x: new Float64Array(n), y: new Float64Array(n) });
  const [tilt, place] = [out(), out()];
  let [forward, left] = [0, 0];
  for (let i = 0; i < n; i++) {
    const [a, b, c, w] = [qx[i]!, qy[i]!, qz[i]!, qw[i]!];
    forward += 1 - 2 * (b * b + c * c);
    left += 2 * (a * b + w * c);
    const up = 1 - 2 * (a * a + b * b);
    tilt.x[i] = (2 * (a * c + w * b)) / up;
    tilt.y[i] = (2 * (b * c - w * a)) / up;
    place.x[i] = x[i]!;
    place.y[i] = y[i]!;
  }
  const length = Math.hypot(forward, left);
  const [cos, sin] = length > 0 ? [forward / length, left / length] : [1, 0];
  for (const pair of [tilt, place])
    for (let i = 0; i < n; i++) {
      const [ahead, aside] = [pair.x[i]!, pair.y[i]!];
      pair.x[i] = cos * ahead + sin * aside;
      pair.y[i] = cos * aside - sin * ahead;
    }
  return { tilt, place };
}

const size = ([re, im]: Phasor): number => Math.hypot(re, im);
const times = ([re, im]: Phasor, factor: number): Phasor => [re * factor, im * factor];
const less = (a: Phasor, b: Phasor): Phasor => [a[0] - b[0], a[1] - b[1]];
const product = (a: Phasor, b: Phasor): Phasor => [a[0] * b[0] - a[1] * b[1], a[0] * b[1] + a[1] * b[0]];
const over = (a: Phasor, b: Phasor): Phasor => {
  const square = b[0] ** 2 + b[1] ** 2;
  return [(a[0] * b[0] + a[1] * b[1]) / square, (a[1] * b[0] - a[0] * b[1]) / square];
};
