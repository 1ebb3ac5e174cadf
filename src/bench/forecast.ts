import { criticalValue } from "../comparison/decideVerdict.ts";
import { mean } from "../numeric/descriptive.ts";
import { magnitude, meanPhasor, type Phasor, scatter } from "./phasor.ts";

/** What one refit of the bench says of an axis: kg of moving mass, and moment over travel about the centre of mass of the whole. */
export interface RefitOfAxis {
  /** real part of force over (2 pi rate)^2 travel, kg */
  readonly mass: number;
  /** N m per metre at rate 0, that is N */
  readonly gravity: number;
  /** kg m */
  readonly inertia: number;
}

/** One refit that holds both configurations. */
export interface RefitPair {
  readonly baseline: RefitOfAxis;
  readonly candidate: RefitOfAxis;
}

/** Baseline flights of one trajectory along one axis, with what the bench says of it. */
export interface BaselinePlace {
  /** hertz, as flown */
  readonly rate: number;
  /** first harmonic of the control point in the body, metres */
  readonly travel: Phasor;
  /** first harmonic of the vehicle's error, one per run, metres */
  readonly displacements: readonly Phasor[];
  readonly refits: readonly RefitPair[];
}

/** What more mass and inertia can make of a transfer, candidate's over baseline's: the ends of m_b/m_c and J_b/J_c. */
export interface Heavier {
  readonly mass: number;
  readonly inertia: number;
}

export interface Prediction {
  /** metres */
  readonly expected: number;
  readonly range: readonly [number, number];
  readonly prediction: readonly [number, number];
}
export type Predicted = Prediction | { readonly refused: string };

export const forecastLimits = {
  /** reductions of force and moment further apart than this, of 1: the ratio law does not apply */
  apart: 0.1,
  /** the two forces' directions over the trajectories: below this sine they are one */
  collinear: 0.1,
  /** a trajectory left out is missed by more than this share: the transfers are not the same for all of them */
  missed: 0.25,
  level: 0.95,
} as const;

export const momentAt = ({ gravity, inertia }: RefitOfAxis, rate: number): number =>
  gravity + inertia * (2 * Math.PI * rate) ** 2;
export const meanOf = <T>(all: readonly T[], of: (one: T) => number): number => mean(Float64Array.from(all, of));
export const percent = (share: number): string => `${Math.round(100 * share)} %`;

/** Reductions of force and of the total moment at a rate, with the upper end of the interval of their difference's size. */
export function reductionsAt(
  refits: readonly RefitPair[],
  rate: number,
  level: number = forecastLimits.level,
): { readonly force: number; readonly moment: number; readonly apart: number | null } {
  const of = (own: readonly RefitPair[]): { force: number; moment: number } => ({
    force: 1 - meanOf(own, ({ candidate }) => candidate.mass) / meanOf(own, ({ baseline }) => baseline.mass),
    moment:
      1 -
      meanOf(own, ({ candidate }) => momentAt(candidate, rate)) /
        meanOf(own, ({ baseline }) => momentAt(baseline, rate)),
  });
  const { force, moment } = of(refits);
  const spread = jackknife(refits, (own) => {
    const one = of(own);
    return one.moment - one.force;
  });
  if (spread === null) return { force, moment, apart: null };
  return {
    force,
    moment,
    apart: Math.abs(moment - force) + criticalValue((1 - level) / 2, refits.length - 1) * spread,
  };
}

/** Standard error of a figure of the refits, each left out in turn; null with fewer than two. */
export function jackknife(refits: readonly RefitPair[], of: (own: readonly RefitPair[]) => number): number | null {
  const n = refits.length;
  if (n < 2) return null;
  const without = refits.map((_, i) => of(refits.filter((_, j) => j !== i)));
  const centre = mean(Float64Array.from(without));
  return Math.sqrt(((n - 1) / n) * without.reduce((sum, value) => sum + (value - centre) ** 2, 0));
}

/**
 * X_c = X_b (u_c / u_b) times what more mass and inertia can make of it: only where force and moment about the centre of mass are
 * reduced alike, for then one number scales all that the arm does to the vehicle, whatever the vehicle makes of it. Alike is within
 * 10 % of the whole; where little is left that is much of it, so the range reaches from the one ratio to the other.
 */
export function ratioLaw(place: BaselinePlace, heavier: Heavier, runs: number): Predicted {
  const { displacements, refits, rate } = place;
  if (refits.length < 2) return { refused: "fewer than two refits of the bench hold both configurations" };
  if (displacements.length < 2) return { refused: "fewer than two baseline flights" };
  const { force, moment, apart } = reductionsAt(refits, rate);
  if (!(apart! <= forecastLimits.apart))
    return {
      refused:
        Math.abs(moment - force) <= forecastLimits.apart
          ? `whether force and moment are reduced alike is not known well enough (${percent(force)} and ${percent(moment)}, apart by up to ${percent(apart!)})`
          : `force and moment are reduced differently (${percent(force)} and ${percent(moment)}): the ratio law does not apply`,
    };
  const sides = [({ mass }: RefitOfAxis): number => mass, (one: RefitOfAxis): number => momentAt(one, rate)];
  const ratios = sides.map(
    (of) => (own: readonly RefitPair[]) =>
      Math.abs(meanOf(own, ({ candidate }) => of(candidate)) / meanOf(own, ({ baseline }) => of(baseline))),
  ) as [(own: readonly RefitPair[]) => number, (own: readonly RefitPair[]) => number];
  const size = magnitude(meanPhasor(displacements));
  const found = ratios.map((of) => of(refits));
  const low = Math.min(heavier.mass, heavier.inertia, 1) * Math.min(...found) * size;
  const high = Math.max(heavier.mass, heavier.inertia, 1) * Math.max(...found) * size;
  const expected = (low + high) / 2;
  const own = scatter(displacements);
  return widened([low, high], expected, [
    // the baseline's own mean, the bench's ratio, and what the flights to come scatter by
    { variance: ((expected / size) ** 2 * own) / displacements.length, df: displacements.length - 1 },
    { variance: (size * Math.max(...ratios.map((of) => jackknife(refits, of)!))) ** 2, df: refits.length - 1 },
    { variance: own / runs, df: displacements.length - 1 },
  ]);
}

/** A range widened by its standard errors; degrees of freedom by Satterthwaite's formula. */
export function widened(
  range: readonly [number, number],
  expected: number,
  parts: readonly { readonly variance: number; readonly df: number }[],
): Prediction {
  const whole = parts.reduce((sum, { variance }) => sum + variance, 0);
  const df = whole ** 2 / parts.reduce((sum, { variance, df: own }) => sum + variance ** 2 / Math.max(1, own), 0);
  const half = whole > 0 ? criticalValue((1 - forecastLimits.level) / 2, Math.max(1, df)) * Math.sqrt(whole) : 0;
  // what is added to the vehicle and what scatters are independent: their distances add as squares
  const [below, above] = [Math.hypot(expected - range[0], half), Math.hypot(range[1] - expected, half)];
  return {
    expected,
    range: [range[0], range[1]],
    prediction: [Math.max(0, expected - below), expected + above],
  };
}

/** Amplitude that the arm's force alone would give a free body: force over mass and (2 pi rate)^2. */
export const freeBody = (mass: number, travel: Phasor, whole: number): number =>
  (Math.abs(mass) * magnitude(travel)) / whole;
