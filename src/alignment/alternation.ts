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
  const [next, ...further] = Array.from({ length: mostBodies }, (_, k) => medianChange(track, n, k + 1));
  const least = Math.min(...further);
  const bodies = further.indexOf(least) + 2;
  const acceleration = (2 * next!) / interval ** 2;
  if (!(next! > settings.alternation_ratio * least && acceleration > settings.alternation_acceleration)) return [];
  return [
    {
      code: "swap",
      severity: "unusable",
      message: `${signal}: its poses go to and fro by ${(1e3 * next!).toFixed(0)} mm from one to the next, but by ${(1e3 * least).toFixed(1)} mm over ${bodies}: they are those of ${bodies} bodies in turn`,
      evidence: { signal, bodies, change_1_m: next!, change_k_m: least, interval_s: interval, acceleration },
      hint: "give each body a log, a topic or columns of its own; a column that says which body a row is of cannot be declared",
    },
  ];
}

/** Median distance between samples `lag` apart, metres; those with a place that is not finite do not count. */
function medianChange({ x, y, z }: Pick<PoseTrack, "x" | "y" | "z">, n: number, lag: number): number {
  const changes: number[] = [];
  for (let i = lag; i < n; i++) {
    const change = Math.hypot(x[i]! - x[i - lag]!, y[i]! - y[i - lag]!, z[i]! - z[i - lag]!);
    if (Number.isFinite(change)) changes.push(change);
  }
  if (changes.length === 0) return Number.NaN;
  quickselect(changes, changes.length >> 1);
  return changes[changes.length >> 1]!;
}
