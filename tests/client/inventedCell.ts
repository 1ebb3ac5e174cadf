import type { Cell } from "../../src/contract/cell.ts";

/** A cell made up for a test of the dashboard: values per run of baseline and candidate, metres; all else plain. */
export function inventedCell(
  told: {
    values: readonly [readonly number[], readonly number[]];
    difference: number | null;
    ci95: [number, number] | null;
    smallest?: number | null;
  } & Partial<Cell>,
): Cell {
  const { values, smallest = 0.0015, ...rest } = told;
  const side = (name: string, own: readonly number[]): Cell["baseline"] => ({
    n: own.length,
    mean: own.reduce((sum, value) => sum + value, 0) / own.length,
    sd: own.length > 1 ? 0.0005 : null,
    values: [...own],
    runs: own.map((_, k) => `${name}-${k + 1}`),
  });
  return {
    trajectory: "orbit",
    subject: "vehicle",
    axis: "y",
    judged_in: "world",
    axis_name: null,
    metric: "rms",
    unit: "m",
    in_family: true,
    baseline: side("bare", values[0]),
    candidate: side("weighted", values[1]),
    ratio: null,
    // ends of the share's interval: a fifth to either side of it
    ratio_ci95:
      told.ratio == null
        ? null
        : [Math.min(0.8 * told.ratio, 1.2 * told.ratio), Math.max(0.8 * told.ratio, 1.2 * told.ratio)],
    method: "welch",
    se: null,
    df: null,
    ci90: null,
    p: null,
    p_family: null,
    p_permutation: null,
    p_least: null,
    arrangements: null,
    exact: null,
    p_equivalence: null,
    smallest_difference: smallest,
    verdict: "within the noise",
    verdict_all_runs: null,
    doubts: [],
    constant: null,
    fragile: [],
    pair: null,
    runs_needed: null,
    ...rest,
  };
}
