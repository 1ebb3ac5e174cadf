import { fUpperTail } from "../../numeric/fUpperTail.ts";
import type { InfluenceFit } from "./imbalanceFit.ts";

/**
 * Whether the counterweights' moment moves the synchronous vector at all: p of influence = 0, along all directions together
 * or along one, the others kept.
 *
 * The six numbers of a vector need more runs than there are for Hotelling's test. So the squared lengths are compared:
 *
 *   F = sum of squares that the direction explains / what it would explain by chance,
 *
 * with the chance from the residuals of each setting by itself (settings may scatter differently), on degrees of freedom that
 * match the two moments of numerator and denominator (Box). The plain estimate of these degrees runs low with 3 to 6 runs and
 * the unbiased one high; their geometric mean is taken. False alarms at 0.05, simulated: 3 to 6 % with 3 to 10 runs per
 * setting, also at 3 v 6 and 6 v 3 with twice the scatter in one setting, within blocks, and with settings off one line; up
 * to 7 % where one of the six numbers carries all scatter, 1.5 to 3.5 % where all scatter alike; 0.1 % at 2 v 2.
 *
 * @param direction  null: all together
 * @returns null where fewer than two degrees of freedom are left or the runs show no scatter
 * @source A. P. Dempster, Ann. Math. Stat. 29 (1958) 995-1010; G. E. P. Box, Ann. Math. Stat. 25 (1954) 290-302; unbiased
 *         trace of a squared covariance: Z. Bai, H. Saranadasa, Stat. Sinica 6 (1996) 311-329. Titles and pages from memory
 */
export function imbalanceTest(fit: InfluenceFit, direction: number | null): number | null {
  if (fit.degreesOfFreedom < 2) return null;
  const columns = explaining(fit, direction);
  const share = (i: number, l: number): number => columns.reduce((sum, column) => sum + column[i]! * column[l]!, 0);
  const groups = scatterOf(fit);
  const all = groups.flatMap(({ members }) => members);
  const components = fit.meanVector.length;
  const explained = new Float64Array(columns.length * components);
  for (const [q, column] of columns.entries())
    for (const i of all)
      for (let c = 0; c < components; c++)
        explained[q * components + c]! += column[i]! * (fit.runs[i]!.vector[c]! - fit.meanVector[c]!);
  const numerator = explained.reduce((sum, value) => sum + value * value, 0);
  const own = groups.map(({ members }) => members.reduce((sum, i) => sum + share(i, i), 0));
  const chance = groups.reduce((sum, { scatter }, g) => sum + own[g]! * traceOf(scatter, components), 0);
  // of values a thousand times as large rounding would leave this much
  const size = fit.meanVector.reduce((sum, value) => sum + value * value, 0);
  if (!(chance > 1e-24 * (size + numerator))) return null;

  const degrees = (["plain", "unbiased"] as const).map((kind) => {
    let [top, bottom] = [0, 0];
    for (const [g, a] of groups.entries()) {
      for (const [h, b] of groups.entries()) {
        let squares = 0;
        for (const i of a.members) for (const l of b.members) squares += share(i, l) ** 2;
        top += squares * (g === h ? squaredTrace(a, components, kind) : dot(a.scatter, b.scatter));
      }
      bottom += (own[g]! ** 2 * squaredTrace(a, components, kind)) / a.degrees;
    }
    const most = columns.length * components;
    return [
      Math.min(most, Math.max(1, chance ** 2 / top)),
      Math.min(components * fit.degreesOfFreedom, chance ** 2 / bottom),
    ] as const;
  });
  const [plain, unbiased] = degrees as [(typeof degrees)[0], (typeof degrees)[0]];
  return fUpperTail(numerator / chance, Math.sqrt(plain[0] * unbiased[0]), Math.sqrt(plain[1] * unbiased[1]));
}

/** Orthonormal columns over the runs that the directions explain (one: after the others); constant within no block. */
function explaining({ weights, unscaled, runs }: InfluenceFit, direction: number | null): Float64Array[] {
  const directions = runs[0]!.place.length;
  if (direction !== null) {
    const scale = Math.sqrt(unscaled[direction * directions + direction]!);
    return [Float64Array.from(weights, (weight) => weight[direction]! / scale)];
  }
  const columns: Float64Array[] = [];
  for (let j = 0; j < directions; j++) {
    const column = Float64Array.from(weights, (weight) => weight[j]!);
    for (const before of columns) {
      const part = dot(before, column);
      for (let i = 0; i < column.length; i++) column[i]! -= part * before[i]!;
    }
    const length = Math.sqrt(dot(column, column));
    columns.push(column.map((value) => value / length));
  }
  return columns;
}

interface Group {
  readonly members: readonly number[];
  /** covariance of the vectors about the line, components x components */
  readonly scatter: Float64Array;
  /** the runs' own part of the residuals' degrees of freedom */
  readonly degrees: number;
}

function scatterOf({ runs, residuals, leverages, meanVector }: InfluenceFit): Group[] {
  const size = meanVector.length;
  return [...new Set(runs.map(({ setting }) => setting))].map((setting) => {
    const members = [...runs.keys()].filter((i) => runs[i]!.setting === setting);
    const scatter = new Float64Array(size * size);
    for (const i of members) {
      const residual = residuals[i]!;
      const scale = 1 / Math.max(1e-12, 1 - leverages[i]!) / members.length;
      for (let a = 0; a < size; a++)
        for (let b = 0; b < size; b++) scatter[a * size + b]! += residual[a]! * residual[b]! * scale;
    }
    return { members, scatter, degrees: members.reduce((sum, i) => sum + 1 - leverages[i]!, 0) };
  });
}

/** Trace of the squared covariance; a covariance from few degrees shows too large a one. */
function squaredTrace({ scatter, degrees: f }: Group, size: number, kind: "plain" | "unbiased"): number {
  const plain = dot(scatter, scatter);
  if (kind === "plain" || f <= 1.01) return plain;
  const trace = traceOf(scatter, size) ** 2;
  // no covariance of that many components has a smaller one than trace^2/size; a thousandth keeps it above zero
  return Math.max(((f * f) / ((f + 2) * (f - 1))) * (plain - trace / f), trace / size / 1000);
}

function traceOf(matrix: Float64Array, size: number): number {
  let sum = 0;
  for (let c = 0; c < size; c++) sum += matrix[c * size + c]!;
  return sum;
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
  return sum;
}
