import {
  type BaselinePlace,
  forecastLimits,
  type Heavier,
  jackknife,
  meanOf,
  momentAt,
  type Predicted,
  percent,
  type RefitPair,
  widened,
} from "./forecast.ts";
import {
  conjugate,
  magnitude,
  meanPhasor,
  minus,
  type Phasor,
  plus,
  product,
  quotient,
  scatter,
  timesNumber,
} from "./phasor.ts";

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
