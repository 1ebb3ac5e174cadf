import { type NestedRuns, nestedRuns, type RunSums, whereReached } from "./nestedVarianceRuns.ts";

/** Variance taken apart: between runs of a group, and between the cycles of a run. */
export interface NestedVariance {
  /** standard deviations, the unit of the values; `betweenRuns` is 0 where the cycles alone explain how the runs differ */
  readonly betweenRuns: number;
  readonly betweenCycles: number;
  /** -2 log of the restricted likelihood, with all its constants */
  readonly criterion: number;
  /** by generalised least squares, in order of appearance */
  readonly groupMeans: ReadonlyMap<string, number>;
  /** runs - groups, and cycles - runs */
  readonly degreesOfFreedom: { readonly runs: number; readonly cycles: number };
}

/**
 * Components of the variance of cycles in runs in groups, by restricted maximum likelihood (REML):
 *
 *   y = mean of its group + b of its run + e of its cycle,   b ~ N(0, sb^2), e ~ N(0, se^2), all independent
 *
 * With q = sb^2/se^2, w = n/(1 + n q) the weight of a run of n cycles, m the run's mean, M its group's mean weighted by w, N
 * cycles, G groups and S the sum of squares of the cycles about their runs' means, the restricted likelihood depends on q alone:
 *
 *   Q(q) = sum w (m - M)^2,   se^2 = (S + Q)/(N - G)
 *   -2 log L = sum over runs of log(1 + n q) + sum over groups of log(sum w) + (N - G) (1 + log(2 pi se^2))
 *
 * Its least value is bracketed on a grid of q, and the zero of its slope found between; q = 0 is the answer where
 * nothing is lower. Runs of unlike length are weighed as they should be; for runs of equal length it is the analysis of
 * variance, sb^2 = (MS between - MS within)/n, not below 0.
 *
 * @param runs  groups with a single run say something of the cycles alone
 * @returns null where no run repeats another in its group, no run has two cycles, or the cycles within runs are all alike
 * @source H. D. Patterson, R. Thompson, Biometrika 58 (1971) 545-554; D. A. Harville, J. Am. Stat. Assoc. 72 (1977) 320-340;
 *         the profile over one ratio: D. Bates, M. Maechler, B. Bolker, S. Walker, J. Stat. Softw. 67 (2015) 1, section 3.4
 * @example nestedVariance([runSums("a", [1, 3]), runSums("a", [5, 7])]) // => sb^2 = (16 - 2)/2, se^2 = 2
 */
export function nestedVariance(runs: readonly RunSums[]): NestedVariance | null {
  const nested = nestedRuns(runs);
  if (nested === null) return null;
  const { criterion, variance, ratio, means } = leastProfile(nested);
  return {
    betweenRuns: Math.sqrt(ratio * variance),
    betweenCycles: Math.sqrt(variance),
    criterion,
    groupMeans: new Map(nested.names.map((name, group) => [name, means[group]!])),
    degreesOfFreedom: nested.degreesOfFreedom,
  };
}

interface Profile {
  readonly ratio: number;
  readonly criterion: number;
  /** of the criterion over the ratio */
  readonly slope: number;
  /** between cycles */
  readonly variance: number;
  readonly means: readonly number[];
}

function profileAt({ groups, squares, degreesOfFreedom }: NestedRuns, ratio: number): Profile {
  const df = degreesOfFreedom.runs + degreesOfFreedom.cycles;
  let logs = 0;
  let distances = 0;
  let slope = 0;
  let slopeOfDistances = 0;
  const means: number[] = [];
  for (const runs of groups) {
    let weights = 0;
    let weightsSquared = 0;
    let weighted = 0;
    for (const { count, mean } of runs) {
      const weight = count / (1 + count * ratio);
      weights += weight;
      weightsSquared += weight * weight;
      weighted += weight * mean;
      logs += Math.log1p(count * ratio);
    }
    const centre = weighted / weights;
    means.push(centre);
    logs += Math.log(weights);
    slope += weights - weightsSquared / weights;
    for (const { count, mean } of runs) {
      const weight = count / (1 + count * ratio);
      const distance = weight * (mean - centre) ** 2;
      distances += distance;
      slopeOfDistances -= weight * distance;
    }
  }
  const variance = (squares + distances) / df;
  return {
    ratio,
    criterion: logs + df * (1 + Math.log(2 * Math.PI * variance)),
    slope: slope + slopeOfDistances / variance,
    variance,
    means,
  };
}

/** Points of the grid, even in log q: the criterion of runs of unlike length may have more than one valley, wide in log q. */
const points = 20;
const smallest = 1e-4;

function leastProfile(nested: NestedRuns): Profile {
  const largest = largestRatio(nested);
  const grid = [0, ...Array.from({ length: points }, (_, k) => smallest * (largest / smallest) ** (k / (points - 1)))];
  const found = grid.map((ratio) => profileAt(nested, ratio));
  let lowest = 0;
  for (const [k, { criterion }] of found.entries()) if (criterion < found[lowest]!.criterion) lowest = k;
  const falls = found[lowest]!.slope < 0;
  if (lowest === 0 && !falls) return found[0]!;
  const low = falls ? grid[lowest]! : grid[lowest - 1]!;
  const high = falls ? (grid[lowest + 1] ?? 2 * largest) : grid[lowest]!;
  const slope = (ratio: number): number => profileAt(nested, ratio).slope;
  return profileAt(nested, whereReached(slope, 0, { low, high, tolerance: 1e-12 }));
}

/** Well beyond the valley: as all weights become 1/q the slope is (R - G)/q - (N - G) sum (m - M)^2/(S q^2). */
function largestRatio({ groups, squares, degreesOfFreedom }: NestedRuns): number {
  let distances = 0;
  for (const runs of groups) {
    const centre = runs.reduce((sum, { mean }) => sum + mean / runs.length, 0);
    for (const { mean } of runs) distances += (mean - centre) ** 2;
  }
  const { runs, cycles } = degreesOfFreedom;
  return 1 + (4 * (runs + cycles) * distances) / (runs * squares);
}
