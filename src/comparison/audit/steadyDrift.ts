import { studentTCdf, studentTQuantile } from "../../numeric/studentT.ts";
import type { RunValues } from "../cellRuns.ts";
import type { DifferenceEstimate } from "../estimateDifference.ts";

/** A drift that goes on evenly from flight to flight. */
export interface SteadyDrift {
  /** the unit of the values, per place */
  readonly slope: number;
  /** 0 where the runs lie on straight lines */
  readonly standardError: number;
  readonly degreesOfFreedom: number;
  /** null where the runs show no spread about the lines */
  readonly interval: [number, number] | null;
  /** two-sided */
  readonly p: number | null;
  /** places by which the candidate came later, taken as the difference is taken */
  readonly later: number;
  /** mean of the runs that enter */
  readonly mean: number;
}

/** Rounding leaves this part of the values; a spread below it is none. */
const rounding = 1e-12;

/**
 * Drift per flight within configurations: the model by which the difference is taken, with the place in the order flown
 * added to it: value = block + configuration + place, by least squares; without the block where the difference is Welch's.
 *
 * With r the residuals of the values, and q those of the places, from the model without the place, over B blocks
 *
 *   slope = sum(q r)/sum(q^2),   se^2 = (sum(r^2) - slope^2 sum(q^2))/(n - B - 2)/sum(q^2)
 *
 * The places enter the difference the way the values do, so `slope x later` is exactly by how much the difference changes
 * when the drift is fitted beside it: what the drift has faked. One spread is taken for both configurations.
 *
 * @param runs    one value per run
 * @param places  place of each run in the order flown
 * @param method  of the cell; `blocked` leaves out the blocks that hold one configuration, as the difference does
 * @param level   of the interval, 0 to 1
 * @returns null where the places cannot be distinguished from blocks and configurations, or too few runs are left to tell by
 * @source R. Frisch, F. V. Waugh, Econometrica 1 (1933) 387-401 (regression by residuals)
 */
export function steadyDrift(
  runs: RunValues,
  places: Float64Array,
  { method, level }: { readonly method: DifferenceEstimate["method"]; readonly level: number },
): SteadyDrift | null {
  const { rows, blockOf, blocks } = entering(runs, method);
  const degreesOfFreedom = rows.length - blocks - 2;
  if (degreesOfFreedom < 1) return null;
  const side = (row: number): number => runs.candidate[row]!;
  const d = aboutBlocks(rows, blockOf, side);
  const dSquares = dot(d, d);
  if (dSquares === 0) return null;
  const residuals = (column: Float64Array): { left: Float64Array; difference: number; spread: number } => {
    const own = aboutBlocks(rows, blockOf, (row) => column[row]!);
    const difference = dot(d, own) / dSquares;
    return { left: own.map((value, i) => value - d[i]! * difference), difference, spread: dot(own, own) };
  };
  const place = residuals(places);
  const value = residuals(runs.values);
  const placeSquares = dot(place.left, place.left);
  if (placeSquares <= 1e-9 * place.spread || place.spread === 0) return null;

  const slope = dot(place.left, value.left) / placeSquares;
  let squares = 0;
  for (const [i, left] of value.left.entries()) squares += (left - slope * place.left[i]!) ** 2;
  const standardError = Math.sqrt(squares / degreesOfFreedom / placeSquares);
  let largest = 0;
  let sum = 0;
  for (const row of rows) {
    largest = Math.max(largest, Math.abs(runs.values[row]!));
    sum += runs.values[row]!;
  }
  const common = { slope, degreesOfFreedom, later: place.difference, mean: sum / rows.length };
  if (squares <= (rounding * largest) ** 2 * rows.length)
    return { ...common, standardError: 0, interval: null, p: null };
  const half = studentTQuantile((1 + level) / 2, degreesOfFreedom) * standardError;
  return {
    ...common,
    standardError,
    interval: [slope - half, slope + half],
    p: 2 * studentTCdf(-Math.abs(slope) / standardError, degreesOfFreedom),
  };
}

/** The runs that enter the difference, with their blocks counted again. */
function entering(
  { candidate, block, blocks }: RunValues,
  method: DifferenceEstimate["method"],
): { rows: number[]; blockOf: (row: number) => number; blocks: number } {
  const rows = [...candidate.keys()];
  if (method === "welch") return { rows, blockOf: () => 0, blocks: 1 };
  const holds = [0, 1].map((side) => new Set(rows.filter((row) => candidate[row] === side).map((row) => block[row]!)));
  const numbers = new Map<number, number>();
  for (let name = 0; name < blocks; name++) {
    if (holds.every((each) => each.has(name))) numbers.set(name, numbers.size);
  }
  return {
    rows: rows.filter((row) => numbers.has(block[row]!)),
    blockOf: (row) => numbers.get(block[row]!)!,
    blocks: numbers.size,
  };
}

/** A column less its mean in each block. */
function aboutBlocks(
  rows: readonly number[],
  blockOf: (row: number) => number,
  of: (row: number) => number,
): Float64Array {
  const sums = new Map<number, { sum: number; count: number }>();
  for (const row of rows) {
    const own = sums.get(blockOf(row)) ?? { sum: 0, count: 0 };
    sums.set(blockOf(row), { sum: own.sum + of(row), count: own.count + 1 });
  }
  return Float64Array.from(rows, (row) => {
    const { sum, count } = sums.get(blockOf(row))!;
    return of(row) - sum / count;
  });
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
  return sum;
}
