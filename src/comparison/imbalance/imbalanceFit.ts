import { choleskyFactor, invertCholesky } from "../../numeric/symmetricMatrix.ts";

/** A run as the influence sees it. */
export interface InfluenceRun {
  /** cosine and sine along x, y, z, metres: six numbers */
  readonly vector: Float64Array;
  /** number of the setting flown, from 0 */
  readonly setting: number;
  /** coordinates of that setting's moment along the directions, kg m */
  readonly place: Float64Array;
  /** number of the block */
  readonly block: number;
}

/** A straight line through runs' synchronous vectors: vector = block + sum over directions of influence x coordinate. */
export interface InfluenceFit {
  readonly method: "whole" | "blocked";
  /** the runs it rests on; where blocked, those of blocks that hold two settings at least */
  readonly runs: readonly InfluenceRun[];
  /** mean over these runs of vector and of place */
  readonly meanVector: Float64Array;
  readonly meanPlace: Float64Array;
  /** per direction: metres per kg m, six numbers */
  readonly influence: readonly Float64Array[];
  /** inverse of the places' sums of products about their block's mean, directions x directions, row-major */
  readonly unscaled: Float64Array;
  /** per run: its place less its block's mean, times `unscaled`: the weights by which its vector enters the influence */
  readonly weights: readonly Float64Array[];
  /** per run: what the line leaves of its vector, and how far the run pulls the line to itself (0 to 1) */
  readonly residuals: readonly Float64Array[];
  readonly leverages: Float64Array;
  /** runs - blocks - directions */
  readonly degreesOfFreedom: number;
}

/** A direction counts as dependent on those before it where less than this part of its spread is its own. */
const OWN_PART = 1e-9;

/**
 * Influence of the counterweights' moment on the vehicle's synchronous vector, by least squares over the runs.
 *
 * Where two blocks at least hold two settings each, the influence is taken within blocks (blocks as fixed effects; runs of
 * other blocks say nothing of it and are left out), else over all runs. `meanVector` is the mean over the runs in either case,
 * so that a block counts by its runs: what follows from it holds for the blocks flown, and says nothing of how another day
 * would differ.
 *
 * @param runs  vectors of equal length; each setting twice at least
 * @returns null where the settings do not differ in every direction, or fewer than one degree of freedom is left
 * @source T. P. Goodman, J. Eng. Ind. 86 (1964) 273-277 (least squares over influence coefficients)
 */
export function imbalanceFit(runs: readonly InfluenceRun[]): InfluenceFit | null {
  const blocks = groupBy(runs, ({ block }) => block).filter(
    (members) => new Set(members.map(({ setting }) => setting)).size > 1,
  );
  const within = blocks.flat();
  const settings = (some: readonly InfluenceRun[]): InfluenceRun[][] => groupBy(some, ({ setting }) => setting);
  const kept = settings(within);
  const whole = settings(runs);
  if (blocks.length > 1 && kept.length === whole.length && kept.every((members) => members.length > 1)) {
    const fit = fitOf("blocked", within, blocks);
    if (fit !== null) return fit;
  }
  return fitOf("whole", runs, [runs]);
}

function fitOf(
  method: "whole" | "blocked",
  runs: readonly InfluenceRun[],
  blocks: readonly (readonly InfluenceRun[])[],
): InfluenceFit | null {
  const first = runs[0];
  if (first === undefined) return null;
  const directions = first.place.length;
  const length = first.vector.length;
  const degreesOfFreedom = runs.length - blocks.length - directions;
  if (directions === 0 || degreesOfFreedom < 1) return null;

  const centres = new Map<InfluenceRun, { vector: Float64Array; place: Float64Array; size: number }>();
  for (const members of blocks) {
    const centre = {
      vector: meanOf(members.map(({ vector }) => vector)),
      place: meanOf(members.map(({ place }) => place)),
      size: members.length,
    };
    for (const run of members) centres.set(run, centre);
  }
  const apart = runs.map((run) => run.place.map((value, j) => value - centres.get(run)!.place[j]!));
  const products = new Float64Array(directions * directions);
  for (const own of apart)
    for (let j = 0; j < directions; j++)
      for (let k = 0; k < directions; k++) products[j * directions + k]! += own[j]! * own[k]!;
  const lower = choleskyFactor(products, directions, OWN_PART);
  if (lower === null) return null;
  const unscaled = invertCholesky(lower, directions);
  const weights = apart.map((own) =>
    own.map((_, j) => own.reduce((sum, value, k) => sum + unscaled[j * directions + k]! * value, 0)),
  );
  const influence = Array.from({ length: directions }, (_, j) => {
    const column = new Float64Array(length);
    for (const [i, run] of runs.entries())
      for (let c = 0; c < length; c++) column[c]! += weights[i]![j]! * (run.vector[c]! - centres.get(run)!.vector[c]!);
    return column;
  });
  const residuals = runs.map((run, i) =>
    run.vector.map(
      (value, c) =>
        value -
        centres.get(run)!.vector[c]! -
        influence.reduce((sum, column, j) => sum + column[c]! * apart[i]![j]!, 0),
    ),
  );
  const leverages = Float64Array.from(
    runs,
    (run, i) => 1 / centres.get(run)!.size + weights[i]!.reduce((sum, weight, j) => sum + weight * apart[i]![j]!, 0),
  );
  return {
    method,
    runs,
    meanVector: meanOf(runs.map(({ vector }) => vector)),
    meanPlace: meanOf(runs.map(({ place }) => place)),
    influence,
    unscaled,
    weights,
    residuals,
    leverages,
    degreesOfFreedom,
  };
}

/** The vector the line gives at a place: what the settings flown would show, or another between them. */
export function vectorAt({ meanVector, meanPlace, influence }: InfluenceFit, place: Float64Array): Float64Array {
  return meanVector.map(
    (value, c) => value + influence.reduce((sum, column, j) => sum + column[c]! * (place[j]! - meanPlace[j]!), 0),
  );
}

function groupBy<T>(items: readonly T[], key: (item: T) => number): T[][] {
  const groups = new Map<number, T[]>();
  for (const item of items) {
    const own = groups.get(key(item));
    if (own === undefined) groups.set(key(item), [item]);
    else own.push(item);
  }
  return [...groups.values()];
}

function meanOf(columns: readonly Float64Array[]): Float64Array {
  return columns[0]!.map((_, c) => columns.reduce((sum, column) => sum + column[c]!, 0) / columns.length);
}
