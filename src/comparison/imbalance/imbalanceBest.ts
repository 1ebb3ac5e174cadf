import { choleskyFactor, invertCholesky, solveCholesky } from "../../numeric/symmetricMatrix.ts";
import { criticalValue } from "../decideVerdict.ts";
import { type InfluenceFit, vectorAt } from "./imbalanceFit.ts";

/** A change of the counterweights' moment along one direction, kg m. */
export interface ImbalanceAlong {
  readonly value: number;
  readonly se: number | null;
  readonly interval: [number, number] | null;
}

/** below this part of itself, what is left of the influence's square after its noise is taken out tells nothing */
const ownPart = 1e-3;

/**
 * How the moment would have to change from a setting for the synchronous vector to be shortest: the place s at which
 * |V0 + A s|^2 over all axes is least, less the setting's place.
 *
 * Plain least squares takes the noise of A for influence and stops short: with 4 runs per setting the median of the
 * best place came out at 4.0 where 4.7 was true. So the squares that noise adds to A'A, and the products it adds to A'V, are
 * taken out first (the score is then unbiased); without noise it is plain least squares.
 *
 * Standard error by the delta method on the same score, run by run, with residuals over 1 - leverage (HC3) so that settings
 * may scatter differently; interval by Student's t on Satterthwaite's degrees over the settings. Simulated with 3 to 10 runs
 * per setting, best within and outside the settings flown: 96 to 98 of 100 cover (more where a block has one run of each),
 * and what they miss lies mostly beyond the far end. Where the influence is reported in one campaign of two only, and these are looked at alone, 91 (3 runs) to 94 of 100.
 * Fieller's interval, which covers more often by setting no limit at all, covered 85 of 100 where it did set one there;
 * percentiles of resampling need more runs than there are. Blocks are taken as flown: their scatter is not in it.
 *
 * @param stated   directions in which the influence is distinguished from 0; along the others nothing is changed: value 0
 * @param place  of the setting, coordinates along the directions, kg m
 * @param level  of the interval
 * @returns one per direction; null where noise is all there is
 * @source T. P. Goodman, J. Eng. Ind. 86 (1964) 273-277; W. A. Fuller, Measurement Error Models (1987), sec. 1.2 (from
 *         memory: taking the noise's squares out); J. G. MacKinnon, H. White, J. Econometrics 29 (1985) 305-325 (HC3)
 */
export function imbalanceBest(
  fit: InfluenceFit,
  stated: readonly number[],
  place: Float64Array,
  level: number,
): ImbalanceAlong[] | null {
  const none: ImbalanceAlong = { value: 0, se: null, interval: null };
  if (stated.length === 0) return [...place].map(() => none);
  const { influence, weights, residuals, leverages, runs } = fit;
  const size = stated.length;
  /** a run's share in the vector at a place: of the mean, and of the line's slope */
  const pull = (i: number, at: Float64Array): number =>
    1 / runs.length + weights[i]!.reduce((sum, weight, j) => sum + weight * (at[j]! - fit.meanPlace[j]!), 0);
  const noise = residuals.map((residual, i) => dot(residual, residual) / own(leverages[i]!));

  const there = vectorAt(fit, place);
  const squares = new Float64Array(size * size);
  const score = new Float64Array(size);
  for (const [a, j] of stated.entries()) {
    for (const [b, k] of stated.entries()) {
      squares[a * size + b] = dot(influence[j]!, influence[k]!);
      for (const [i, square] of noise.entries()) squares[a * size + b]! -= square * weights[i]![j]! * weights[i]![k]!;
    }
    score[a] = dot(influence[j]!, there);
    for (const [i, square] of noise.entries()) score[a]! -= square * weights[i]![j]! * pull(i, place);
  }
  if (stated.some((j, a) => !(squares[a * size + a]! > ownPart * dot(influence[j]!, influence[j]!)))) return null;
  const lower = choleskyFactor(squares, size, ownPart);
  if (lower === null) return null;
  const change = solveCholesky(lower, score).map((value) => -value);

  const at = place.slice();
  for (const [a, j] of stated.entries()) at[j]! += change[a]!;
  const left = vectorAt(fit, at);
  const inverse = invertCholesky(lower, size);
  const variances = stated.map(() => new Map<number, { sum: number; degrees: number }>());
  for (const [i, run] of runs.entries()) {
    const residual = residuals[i]!;
    const [ofLine, ofLeft] = [pull(i, at), dot(residual, left)];
    const moved = Float64Array.from(stated, (j) => dot(influence[j]!, residual) * ofLine + weights[i]![j]! * ofLeft);
    for (let a = 0; a < size; a++) {
      let effect = 0;
      for (let b = 0; b < size; b++) effect += inverse[a * size + b]! * moved[b]!;
      const group = variances[a]!.get(run.setting) ?? { sum: 0, degrees: 0 };
      group.sum += (effect / own(leverages[i]!)) ** 2;
      group.degrees += 1 - leverages[i]!;
      variances[a]!.set(run.setting, group);
    }
  }
  return [...place].map((_, j) => {
    const a = stated.indexOf(j);
    if (a < 0) return none;
    const groups = [...variances[a]!.values()];
    const variance = groups.reduce((sum, group) => sum + group.sum, 0);
    const spread = groups.reduce((sum, group) => sum + group.sum ** 2 / Math.max(group.degrees, 1e-12), 0);
    const value = change[a]!;
    const se = Math.sqrt(variance);
    if (!(variance > 0)) return { value, se, interval: [value, value] };
    const degrees = Math.min(fit.degreesOfFreedom, variance ** 2 / spread);
    const half = criticalValue((1 - level) / 2, degrees) * se;
    return { value, se, interval: [value - half, value + half] };
  });
}

/** the part of a run's residual that is its own; a run that the line must pass through has none */
function own(leverage: number): number {
  return Math.max(1 - leverage, 1e-9);
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
  return sum;
}
