import { studentTQuantile } from "../../src/numeric/studentT.ts";

/** A curve over cycle phase: its mean and a 95 % band at each phase; null where too few runs have it. */
export interface PhaseCurve {
  readonly mean: readonly (number | null)[];
  readonly low: readonly (number | null)[];
  readonly high: readonly (number | null)[];
}

interface Moments {
  readonly n: number;
  readonly mean: number;
  /** of the mean, squared */
  readonly variance: number;
}

const level = 0.975;

/**
 * Mean of runs over cycle phase with its pointwise 95 % interval by Student's t, the run as the unit.
 *
 * @param runs  a curve a run, all over the same phases; null where a run has no sample
 * @returns the band is null with fewer than two runs
 */
export function meanOverRuns(runs: readonly (readonly (number | null)[])[]): PhaseCurve {
  return curveOf(runs[0]?.length ?? 0, (k) => {
    const { n, mean, variance } = momentsAt(runs, k);
    return n === 0 ? null : { mean, variance, df: n - 1 };
  });
}

/**
 * Difference of two such means with its pointwise 95 % interval: Welch, with Satterthwaite's degrees of freedom.
 *
 * @source B. L. Welch, Biometrika 34 (1947) 28-35
 */
export function differenceOverPhase(
  baseline: readonly (readonly (number | null)[])[],
  candidate: readonly (readonly (number | null)[])[],
): PhaseCurve {
  return curveOf(baseline[0]?.length ?? candidate[0]?.length ?? 0, (k) => {
    const [a, b] = [momentsAt(baseline, k), momentsAt(candidate, k)];
    if (a.n === 0 || b.n === 0) return null;
    const variance = a.variance + b.variance;
    const df = a.n < 2 || b.n < 2 ? 0 : variance ** 2 / (a.variance ** 2 / (a.n - 1) + b.variance ** 2 / (b.n - 1));
    return { mean: b.mean - a.mean, variance, df };
  });
}

function curveOf(
  length: number,
  at: (k: number) => { readonly mean: number; readonly variance: number; readonly df: number } | null,
): PhaseCurve {
  const points = Array.from({ length }, (_, k) => at(k));
  const half = points.map((point) =>
    point === null || !(point.df > 0) ? null : studentTQuantile(level, point.df) * Math.sqrt(point.variance),
  );
  return {
    mean: points.map((point) => point?.mean ?? null),
    low: points.map((point, k) => (half[k] === null ? null : point!.mean - half[k]!)),
    high: points.map((point, k) => (half[k] === null ? null : point!.mean + half[k]!)),
  };
}

function momentsAt(runs: readonly (readonly (number | null)[])[], k: number): Moments {
  const values = runs.flatMap((run) => run[k] ?? []);
  const n = values.length;
  const mean = values.reduce((sum, value) => sum + value, 0) / n;
  const squares = values.reduce((sum, value) => sum + (value - mean) ** 2, 0);
  return { n, mean, variance: n < 2 ? 0 : squares / (n - 1) / n };
}
