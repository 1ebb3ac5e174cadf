import { quickselect } from "simple-statistics";
import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import type { PoseTrack } from "../foundation/tracks.ts";

/** Bodies that are looked for in one stream. */
const mostBodies = 4;
/** Samples are judged up to this many: half of a long log tells as much. */
const mostSamples = 20_000;

/**
 * Whether the poses of one signal are those of several bodies in turn, as in a table that has a row for each body and instant.
 *
 * The pose of one body changes more over two intervals than over one, or, where noise is all there is, as much. Of k bodies in
 * turn it changes least over k. Steps of that size at every sample would take an acceleration beyond any vehicle's.
 *
 * @param track  as logged, sorted by time, metres
 */
export function alternationCheck(
  signal: string,
  track: Pick<PoseTrack, "t" | "x" | "y" | "z">,
  settings: Settings,
): Check[] {
  const n = Math.min(track.t.length, mostSamples);
  if (n < 50) return [];
  const interval = (track.t[n - 1]! - track.t[0]!) / (n - 1);
  const next = medianChange(track, n, 1);
  const acceleration = (2 * next) / interval ** 2;
  if (!(acceleration > settings.alternation_acceleration)) return [];
  const further = Array.from({ length: mostBodies - 1 }, (_, k) => medianChange(track, n, k + 2));
  const least = Math.min(...further);
  const bodies = further.indexOf(least) + 2;
  if (!(next > settings.alternation_ratio * least)) return [];
  return [
    {
      code: "swap",
      severity: "unusable",
      message: `${signal}: its poses go to and fro by ${(1e3 * next).toFixed(0)} mm from one to the next, but by ${(1e3 * least).toFixed(1)} mm over ${bodies}: they are those of ${bodies} bodies in turn`,
      evidence: { signal, bodies, change_1_m: next, change_k_m: least, interval_s: interval, acceleration },
      hint: "give each body a log, a topic or columns of its own; a column that says which body a row is of cannot be declared",
    },
  ];
}

/** Median distance between samples `lag` apart, metres; those with a place that is not finite do not count. */
function medianChange({ x, y, z }: Pick<PoseTrack, "x" | "y" | "z">, n: number, lag: number): number {
  const squares = new Float64Array(Math.max(0, n - lag));
  const count = fillSquares(x, y, z, n, lag, squares);
  if (count === 0) return Number.NaN;
  const middle = count >> 1;
  quickselect(squares.subarray(0, count) as unknown as number[], middle);
  return Math.sqrt(squares[middle]!);
}

/** Squared distances that are finite; returns how many. A loop alone: it is to stay compiled. */
function fillSquares(
  x: Float64Array,
  y: Float64Array,
  z: Float64Array,
  n: number,
  lag: number,
  squares: Float64Array,
): number {
  let count = 0;
  for (let i = lag; i < n; i++) {
    const dx = x[i]! - x[i - lag]!;
    const dy = y[i]! - y[i - lag]!;
    const dz = z[i]! - z[i - lag]!;
    const square = dx * dx + dy * dy + dz * dz;
    if (square < Number.POSITIVE_INFINITY) squares[count++] = square;
  }
  return count;
}
