import { criticalValue } from "../comparison/decideVerdict.ts";
import { magnitude, type Phasor, product, quotient, timesNumber } from "./phasor.ts";

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

const momentAt = ({ gravity, inertia }: RefitOfAxis, rate: number): number =>
  gravity + inertia * (2 * Math.PI * rate) ** 2;
const average = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;
const meanOf = (refits: readonly RefitPair[], of: (pair: RefitPair) => number): number => average(refits.map(of));
const percent = (share: number): string => `${Math.round(100 * share)} %`;

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
function jackknife(refits: readonly RefitPair[], of: (own: readonly RefitPair[]) => number): number | null {
  const n = refits.length;
  if (n < 2) return null;
  const without = refits.map((_, i) => of(refits.filter((_, j) => j !== i)));
  const centre = average(without);
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

/**
 * Two transfers per axis, X = G_F F + G_M M, by least squares over the baseline's trajectories (complex); each trajectory is left
 * out in turn and predicted from the others. Then the candidate's force and moment through the same two, each times what more
 * mass (force) or inertia (moment) can make of it.
 *
 * @param places  at least three; `at` is the one to predict
 */
export function twoTransfers(places: readonly BaselinePlace[], at: number, heavier: Heavier, runs: number): Predicted {
  if (places.length < 3)
    return {
      refused: `two transfers need three trajectories or speeds flown with the baseline and run on the bench, one of them to be left out; found ${places.length}`,
    };
  if (places.some(({ refits }) => refits.length < 2))
    return { refused: "fewer than two refits of the bench hold both configurations" };
  if (places.some(({ displacements }) => displacements.length < 2))
    return { refused: "fewer than two baseline flights" };
  const pushes = places.map((one) => pushOf(one, one.refits, "baseline"));
  const sine = apartness(pushes);
  if (!(sine >= forecastLimits.collinear))
    return {
      refused: "force and moment keep one ratio over all trajectories (collinear): their two effects cannot be parted",
    };
  const seen = places.map(({ displacements }) => meanPhasor(displacements));
  const missed = leftOut(places, pushes, seen);
  if (missed === null)
    return { refused: "without one of the trajectories force and moment keep one ratio: nothing is left to check by" };
  if (missed.share > forecastLimits.missed)
    return {
      refused: `a trajectory left out is missed by ${percent(missed.share)}: the transfers are not one for all`,
    };
  const of = (own: readonly BaselinePlace[], force: number, moment: number): number => {
    const [g, h] = solve(
      own.map((one) => pushOf(one, one.refits, "baseline")),
      seen,
    );
    const [f, m] = pushOf(own[at]!, own[at]!.refits, "candidate");
    return magnitude(plus(timesNumber(product(g, f), force), timesNumber(product(h, m), moment)));
  };
  const corners = grid(heavier).map(([force, moment]) => of(places, force, moment));
  const middle: readonly [number, number] = [(1 + heavier.mass) / 2, (1 + heavier.inertia) / 2];
  const expected = of(places, ...middle);
  const refits = Math.min(...places.map((one) => one.refits.length));
  // the refits' scatter enters as a whole: the same refit is left out of all trajectories
  const bench = jackknife(places[at]!.refits.slice(0, refits), (own) => {
    const kept = new Set(own);
    const indices = places[at]!.refits.flatMap((one, i) => (kept.has(one) ? [i] : []));
    return of(
      places.map((one) => ({ ...one, refits: indices.map((i) => one.refits[i]!) })),
      ...middle,
    );
  })!;
  const weights = weightsOf(pushes, pushOf(places[at]!, places[at]!.refits, "candidate"), middle);
  const flights = places.reduce(
    (sum, { displacements }, j) => sum + (magnitude(weights[j]!) ** 2 * scatter(displacements)) / displacements.length,
    0,
  );
  const own = places[at]!.displacements;
  return widened([Math.min(...corners), Math.max(...corners)], expected, [
    { variance: flights, df: places.reduce((sum, { displacements }) => sum + displacements.length - 1, 0) },
    { variance: bench ** 2, df: refits - 1 },
    { variance: (missed.beyond * expected) ** 2, df: places.length },
    { variance: scatter(own) / runs, df: own.length - 1 },
  ]);
}

type Push = readonly [force: Phasor, moment: Phasor];

/** Force and moment of the arm at the flown rate and travel. */
function pushOf({ rate, travel }: BaselinePlace, refits: readonly RefitPair[], side: keyof RefitPair): Push {
  const force = (2 * Math.PI * rate) ** 2 * meanOf(refits, (pair) => pair[side].mass);
  const moment = meanOf(refits, (pair) => momentAt(pair[side], rate));
  return [timesNumber(travel, force), timesNumber(travel, moment)];
}

/** Sine of the angle between forces and moments as vectors over the trajectories. */
function apartness(pushes: readonly Push[]): number {
  const [ff, mm, fm] = productsOf(pushes);
  return ff > 0 && mm > 0 ? Math.sqrt(Math.max(0, 1 - magnitude(fm) ** 2 / (ff * mm))) : 0;
}

/** Sums of |F|^2, |M|^2 and conj(F) M. */
function productsOf(pushes: readonly Push[]): readonly [number, number, Phasor] {
  let [ff, mm] = [0, 0];
  let fm: Phasor = [0, 0];
  for (const [f, m] of pushes) {
    ff += magnitude(f) ** 2;
    mm += magnitude(m) ** 2;
    fm = plus(fm, product(conjugate(f), m));
  }
  return [ff, mm, fm];
}

/** Least squares of two complex unknowns: the 2 x 2 normal equations, whose condition `apartness` has looked at. */
function solve(pushes: readonly Push[], seen: readonly Phasor[]): readonly [Phasor, Phasor] {
  const [ff, mm, fm] = productsOf(pushes);
  let [fx, mx]: [Phasor, Phasor] = [
    [0, 0],
    [0, 0],
  ];
  for (const [i, [f, m]] of pushes.entries()) {
    fx = plus(fx, product(conjugate(f), seen[i]!));
    mx = plus(mx, product(conjugate(m), seen[i]!));
  }
  const whole: Phasor = [ff * mm - magnitude(fm) ** 2, 0];
  return [
    quotient(minus(timesNumber(fx, mm), product(fm, mx)), whole),
    quotient(minus(timesNumber(mx, ff), product(conjugate(fm), fx)), whole),
  ];
}

/** Weight of each trajectory's displacement in the candidate's: the prediction is linear in them. */
function weightsOf(pushes: readonly Push[], [f, m]: Push, [force, moment]: readonly [number, number]): Phasor[] {
  return pushes.map((_, j) => {
    const [g, h] = solve(
      pushes,
      pushes.map((_, i): Phasor => (i === j ? [1, 0] : [0, 0])),
    );
    return plus(timesNumber(product(g, f), force), timesNumber(product(h, m), moment));
  });
}

/**
 * Each trajectory predicted from the others, which still have to tell force and moment apart.
 *
 * @returns root mean square of what it is missed by over its size, and the part of that which the flights' scatter does not
 *   explain; null where no trajectory can be left out
 */
function leftOut(
  places: readonly BaselinePlace[],
  pushes: readonly Push[],
  seen: readonly Phasor[],
): { readonly share: number; readonly beyond: number } | null {
  let [missed, noise, count] = [0, 0, 0];
  for (const [j, push] of pushes.entries()) {
    const kept = pushes.map((_, i) => i).filter((i) => i !== j);
    const own = kept.map((i) => pushes[i]!);
    if (apartness(own) < forecastLimits.collinear) continue;
    const [g, h] = solve(
      own,
      kept.map((i) => seen[i]!),
    );
    const said = plus(product(g, push[0]), product(h, push[1]));
    const weights = weightsOf(own, push, [1, 1]);
    const variance = (i: number): number => scatter(places[i]!.displacements) / places[i]!.displacements.length;
    const size = magnitude(seen[j]!) ** 2;
    missed += magnitude(minus(said, seen[j]!)) ** 2 / size;
    // both parts of a phasor
    noise +=
      (2 * (variance(j) + kept.reduce((sum, i, k) => sum + magnitude(weights[k]!) ** 2 * variance(i), 0))) / size;
    count++;
  }
  if (count === 0) return null;
  return { share: Math.sqrt(missed / count), beyond: Math.sqrt(Math.max(0, missed - noise) / count) };
}

/** Both ranges from end to end: between the corners the length can be smaller than at any of them. */
function grid({ mass, inertia }: Heavier): [number, number][] {
  const steps = [0, 0.25, 0.5, 0.75, 1];
  return steps.flatMap((a) => steps.map((b): [number, number] => [1 + a * (mass - 1), 1 + b * (inertia - 1)]));
}

/** A range widened by its standard errors; degrees of freedom by Satterthwaite's formula. */
function widened(
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

export const meanPhasor = (all: readonly Phasor[]): Phasor => [
  average(all.map(([re]) => re)),
  average(all.map(([, im]) => im)),
];

/** Variance of either part of a phasor from run to run. */
function scatter(all: readonly Phasor[]): number {
  const centre = meanPhasor(all);
  return all.reduce((sum, one) => sum + magnitude(minus(one, centre)) ** 2, 0) / (2 * (all.length - 1));
}

const plus = (a: Phasor, b: Phasor): Phasor => [a[0] + b[0], a[1] + b[1]];
const minus = (a: Phasor, b: Phasor): Phasor => [a[0] - b[0], a[1] - b[1]];
const conjugate = ([re, im]: Phasor): Phasor => [re, -im];

/** Amplitude that the arm's force alone would give a free body: force over mass and (2 pi rate)^2. */
export const freeBody = (mass: number, travel: Phasor, whole: number): number =>
  (Math.abs(mass) * magnitude(travel)) / whole;
