import type { BenchSettings } from "../contract/benchSettings.ts";
import { type Axis, axes, type PointTrack, type Window } from "../foundation/tracks.ts";
import { flightNoise } from "../metrics/measurementNoise.ts";
import { brentMinimum } from "../numeric/brentMinimum.ts";
import { extent } from "../numeric/descriptive.ts";
import { fitHarmonicDesign, harmonicDesign, harmonicShare } from "../numeric/fitHarmonics.ts";
import { fitLine } from "../numeric/leastSquares.ts";
import { lowerBound } from "../numeric/sortedColumns.ts";
import type { Phasor } from "./phasor.ts";

/** The whole cycles of a bench run. */
export interface BenchCycles {
  /** seconds */
  readonly period: number;
  /** from theta = 0 of the first cycle to the end of the last */
  readonly window: Window;
  readonly cycles: number;
  /** cycles that the arm ran in all, the first ones and a part of one with them */
  readonly ran: number;
  /** the arm at rest before it starts and after it stops; null where the record has no such stretch */
  readonly before: Window | null;
  readonly after: Window | null;
  /** along which the arm travels furthest: theta = 0 where its first harmonic is largest */
  readonly main: Axis;
  /** phasors of the control point at harmonic 1..K, metres */
  readonly travel: Readonly<Record<Axis, readonly Phasor[]>>;
  /** spread from end to end, metres */
  readonly range: number;
}

/** Share of a cycle in which an arm that starts or stops at the end of its stroke is not yet seen to move. */
const atEnds = 0.06;
/** Samples are thinned to about so many before the period is sought: the curve is smooth. */
const enough = 3000;

/**
 * Cycle phase of a bench run from the arm's own position, not from its command's name: rests at both ends, period, whole cycles,
 * and the travel's harmonics.
 *
 * The period is first the mean time between upward passages through the middle (a quarter of the amplitude of hysteresis), then
 * that at which harmonics 1..K leave least of the position. A period off by 1 % over ten cycles would take 1.6 % from a
 * projection, by sinc.
 *
 * @param arm  control point in the arm base, n instants
 * @returns a word where the arm does not move, or runs fewer whole cycles than `least_cycles`
 */
export function armCycles(arm: PointTrack, settings: BenchSettings): BenchCycles | "does-not-move" | "few-cycles" {
  const spreads = axes.map((axis) => {
    const { low, high } = extent(arm[axis]);
    return { axis, range: high - low, middle: 0.5 * (low + high) };
  });
  const widest = spreads.reduce((a, b) => (b.range > a.range ? b : a));
  if (!(widest.range >= settings.least_travel)) return "does-not-move";
  // two places at rest lie apart by the noise of both, along three axes: nine times of one is no motion; nor is a five-hundredth of the travel
  const step = (arm.t.at(-1)! - arm.t[0]!) / (arm.t.length - 1);
  // by third differences: first ones would take the motion itself for noise where few readings make a cycle
  const noise = Math.max(...axes.map((axis) => flightNoise(arm.t, arm[axis], step)?.sd ?? 0));
  const [first, last] = movingStretch(arm, Math.max(settings.moving_share * widest.range, 9 * noise));
  const main = arm[widest.axis];
  const { t } = arm;
  const about = { first, last, middle: widest.middle, swing: widest.range / 2 };
  // a short run that starts in the middle has one passage more in the other direction
  const passages = [
    upwardPassages(t, main, about),
    upwardPassages(
      t,
      main.map((value) => -value),
      { ...about, middle: -widest.middle },
    ),
  ].reduce((a, b) => (b.length > a.length ? b : a));
  if (passages.length < 2) return "few-cycles";
  const [from, to] = [t[first]!, t[last]!];
  const guess = (passages.at(-1)! - passages[0]!) / (passages.length - 1);
  const period = cyclePeriod(t.subarray(first, last + 1), main.subarray(first, last + 1), guess, settings);
  const ran = (to - from) / period;
  const skipped = Math.floor(ran + 0.05) < settings.keep_all_below ? 0 : settings.first_cycles;
  const start = from + skipped * period;
  const peak = phaseOfLargest(arm, widest.axis, { start, period, to }, settings);
  const begin = start + peak * period;
  const cycles = Math.floor((to - begin) / period + 0.02);
  if (cycles < settings.least_cycles) {
    // a creep run has no cycle to spare for the choice of theta = 0
    const whole = Math.floor((to - from) / period + atEnds);
    if (whole < settings.least_cycles) return "few-cycles";
    return described(arm, { period, begin: from, cycles: whole, ran, first, last, main: widest }, settings);
  }
  return described(arm, { period, begin, cycles, ran, first, last, main: widest }, settings);
}

/**
 * Whole cycles from one mark a cycle (a key phase), or of a filed period alone: no travel, so neither apparent mass nor ratio of
 * vectors, only amplitudes and rms.
 *
 * @param marks  instants, ascending
 * @returns null with fewer than `least_cycles` whole cycles
 */
export function cyclesOfMarks(marks: Float64Array, settings: BenchSettings): BenchCycles | null {
  const skipped = marks.length - 1 < settings.keep_all_below ? 0 : settings.first_cycles;
  const kept = marks.subarray(skipped);
  const cycles = kept.length - 1;
  if (cycles < settings.least_cycles) return null;
  const { intercept, slope } = fitLine(
    kept.map((_, i) => i),
    kept,
  );
  const none = Array.from({ length: settings.harmonics }, (): Phasor => [0, 0]);
  return {
    period: slope,
    window: [intercept, intercept + cycles * slope],
    cycles,
    ran: marks.length - 1,
    before: null,
    after: null,
    main: "x",
    travel: { x: none, y: none, z: none },
    range: 0,
  };
}

interface Found {
  readonly period: number;
  readonly begin: number;
  readonly cycles: number;
  readonly ran: number;
  readonly first: number;
  readonly last: number;
  readonly main: { readonly axis: Axis; readonly range: number };
}

function described(arm: PointTrack, found: Found, settings: BenchSettings): BenchCycles {
  const { t } = arm;
  const { period, begin, cycles, first, last, main } = found;
  const window: Window = [begin, begin + cycles * period];
  const [i, j] = [lowerBound(t, window[0]), lowerBound(t, window[1])];
  const design = harmonicDesign(
    t.subarray(i, j).map((time) => (2 * Math.PI * (time - begin)) / period),
    settings.harmonics,
  );
  const travelOf = (axis: Axis): Phasor[] => {
    const { cosines, sines } = fitHarmonicDesign(design, arm[axis].subarray(i, j));
    return [...cosines].map((cos, k) => [cos, -sines[k]!]);
  };
  const rest = (window: Window): Window | null => (window[1] - window[0] >= settings.least_rest ? window : null);
  return {
    period,
    window,
    cycles,
    ran: found.ran,
    before: rest([t[0]!, t[first]!]),
    after: rest([t[last]!, t.at(-1)!]),
    main: main.axis,
    travel: { x: travelOf("x"), y: travelOf("y"), z: travelOf("z") },
    range: main.range,
  };
}

/** From the last sample in the start posture to the first in the posture at the end. */
function movingStretch({ t, x, y, z }: PointTrack, apart: number): [number, number] {
  const far = (i: number, from: number): boolean =>
    Math.hypot(x[i]! - x[from]!, y[i]! - y[from]!, z[i]! - z[from]!) > apart;
  let first = 0;
  while (first < t.length - 1 && !far(first + 1, 0)) first++;
  let last = t.length - 1;
  while (last > first + 1 && !far(last - 1, t.length - 1)) last--;
  return [first, last];
}

/** Instants at which the column passes its middle upwards, having been a quarter of the swing below. */
function upwardPassages(
  t: Float64Array,
  column: Float64Array,
  { first, last, middle, swing }: { first: number; last: number; middle: number; swing: number },
): number[] {
  const found: number[] = [];
  let armed = false;
  let passage = Number.NaN;
  for (let i = first; i <= last; i++) {
    const value = column[i]! - middle;
    if (value < -0.25 * swing) armed = true;
    const before = i > first ? column[i - 1]! - middle : value;
    if (armed && before <= 0 && value > 0) passage = t[i - 1]! + ((t[i]! - t[i - 1]!) * before) / (before - value);
    if (armed && value > 0.25 * swing) {
      found.push(passage);
      armed = false;
    }
  }
  return found;
}

/** The period near a guess at which harmonics 1..K leave least of a column. */
export function cyclePeriod(
  t: Float64Array,
  column: Float64Array,
  guess: number,
  { harmonics }: BenchSettings,
): number {
  const step = Math.max(1, Math.floor(t.length / enough));
  const [times, values] = [t, column].map((whole) => whole.filter((_, i) => i % step === 0)) as [
    Float64Array,
    Float64Array,
  ];
  if (times.length < 4 * harmonics + 4) return guess;
  const cost = (period: number): number =>
    harmonicShare(
      harmonicDesign(
        times.map((time) => (2 * Math.PI * (time - times[0]!)) / period),
        harmonics,
      ),
      values,
    ).remainingMeanSquare;
  const cycles = (times.at(-1)! - times[0]!) / guess;
  const reach = Math.min(0.2, 0.4 / Math.max(1, cycles));
  return brentMinimum(cost, guess * (1 - reach), guess * (1 + reach), 1e-7 * guess);
}

/** Share of a cycle after `start` at which the first harmonic along the axis is largest. */
function phaseOfLargest(
  arm: PointTrack,
  axis: Axis,
  { start, period, to }: { start: number; period: number; to: number },
  { harmonics }: BenchSettings,
): number {
  const whole = Math.max(1, Math.floor((to - start) / period + 0.02));
  const [i, j] = [lowerBound(arm.t, start), lowerBound(arm.t, start + whole * period)];
  if (j - i < 4 * harmonics + 4) return 0;
  const theta = arm.t.subarray(i, j).map((time) => (2 * Math.PI * (time - start)) / period);
  const { cosines, sines } = fitHarmonicDesign(harmonicDesign(theta, harmonics), arm[axis].subarray(i, j));
  const phase = Math.atan2(sines[0]!, cosines[0]!) / (2 * Math.PI);
  return phase < -1e-3 ? phase + 1 : Math.max(0, phase);
}
