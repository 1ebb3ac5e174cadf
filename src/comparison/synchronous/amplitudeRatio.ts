import { fUpperTail } from "../../numeric/fUpperTail.ts";
import { studentTQuantile } from "../../numeric/studentT.ts";

/** Two mean vectors in the plane whose lengths are to be compared. */
export interface MeanVectors {
  /** of the baseline: cos, sin */
  readonly baseline: readonly [number, number];
  readonly candidate: readonly [number, number];
  /** covariance of a single run's vector within its group: var cos, cov, var sin */
  readonly covariance: readonly [number, number, number];
  /** its degrees of freedom */
  readonly degreesOfFreedom: number;
  /** variance of the means over that of a single run: 1/n where no blocks weigh in */
  readonly shares: readonly [baseline: number, candidate: number];
}

const turns = 48;

/**
 * Ratio of the lengths of two mean vectors, candidate over baseline, with an interval that stays honest where a side is not
 * distinguished from zero: the ratios r that the runs do not speak against.
 *
 * For each r the means are moved as little as may be to lengths in that ratio:
 *
 *   D^2(r) = min over phi of e' C^-1 e,   e = candidate - r R(phi) baseline,   C = s1 V + r^2 s0 R(phi) V R(phi)'
 *
 * with V the covariance of a run's vector. r is inside while D^2(r) <= t^2, t the quantile of Student's t: one number is
 * asked for. A candidate that Hotelling's one-sample test does not distinguish from zero sets the lower end to 0, such a baseline
 * leaves the upper end open: there two numbers are asked for, and t^2 alone would hold 80 to 86 of 100.
 *
 * Covers 93 to 98 % for ratios of 0.1 to 1.5, amplitudes of 3 to 20 run sd, 3 to 8 runs of each (a ratio of 0: 94.5 to
 * 96 %), and 94 to 99 % for amplitudes of 0.5 to 2 run sd, where the upper end is mostly open
 * (tests/comparison/amplitudeRatio.test.ts).
 *
 * @param level  of the interval, inside 0 to 1
 * @returns null where the baseline is zero; `interval` null without spread or with fewer than 2 degrees of freedom;
 *          its upper end null where no ratio is too large
 * @source E. C. Fieller, J. R. Stat. Soc. B 16 (1954) 175-185 (the ratio of two means by what is not spoken against; here of
 *         two lengths, by profile)
 */
export function amplitudeRatio(
  means: MeanVectors,
  level: number,
): { readonly ratio: number; readonly interval: readonly [number, number | null] | null } | null {
  const { baseline, candidate, covariance, degreesOfFreedom: df } = means;
  const length = Math.hypot(...baseline);
  if (!(length > 0)) return null;
  const ratio = Math.hypot(...candidate) / length;
  const [xx, xy, yy] = covariance;
  if (df < 2 || !(xx * yy - xy * xy > 1e-12 * xx * yy)) return { ratio, interval: null };
  const limit = studentTQuantile((1 + level) / 2, df) ** 2;
  const inside = (r: number): boolean => distance(means, r) <= limit;
  const stated = (mean: readonly [number, number], share: number): boolean => {
    const t2 = (mean[0] ** 2 * yy - 2 * mean[0] * mean[1] * xy + mean[1] ** 2 * xx) / (xx * yy - xy * xy) / share;
    return fUpperTail((t2 * (df - 1)) / (2 * df), 2, df - 1) < 1 - level;
  };
  const low = inside(0) || !stated(candidate, means.shares[1]) ? 0 : edge(inside, 0, ratio);
  // beyond this the ratio is that of one and zero
  const far = 1e4 * (ratio + 1);
  const high = inside(far) || !stated(baseline, means.shares[0]) ? null : edge(inside, far, ratio);
  return { ratio, interval: [low, high] };
}

/** Where `inside` begins on the way from a place outside to one inside. */
function edge(inside: (r: number) => boolean, outside: number, within: number): number {
  let [out, into] = [outside, within];
  for (let i = 0; i < 60 && Math.abs(out - into) > 1e-7 * Math.max(into, 1e-3); i++) {
    // large ratios by halving of their logarithm
    const middle = out > 4 * into && into > 0 ? Math.sqrt(out * into) : 0.5 * (out + into);
    if (inside(middle)) into = middle;
    else out = middle;
  }
  return into;
}

/** D^2(r): the least over the phase, by a look around the circle and a refinement about the best. */
export function distance({ baseline, candidate, covariance, shares }: MeanVectors, r: number): number {
  const [bx, by] = baseline;
  const [cx, cy] = candidate;
  const [xx, xy, yy] = covariance;
  const at = (phi: number): number => {
    const c = Math.cos(phi);
    const s = Math.sin(phi);
    const ex = cx - r * (c * bx - s * by);
    const ey = cy - r * (s * bx + c * by);
    const share = r * r * shares[0];
    const vxx = shares[1] * xx + share * (c * c * xx - 2 * c * s * xy + s * s * yy);
    const vyy = shares[1] * yy + share * (s * s * xx + 2 * c * s * xy + c * c * yy);
    const vxy = shares[1] * xy + share * (c * s * (xx - yy) + (c * c - s * s) * xy);
    return (ex * ex * vyy - 2 * ex * ey * vxy + ey * ey * vxx) / (vxx * vyy - vxy * vxy);
  };
  let best = Math.atan2(cy, cx) - Math.atan2(by, bx);
  let least = at(best);
  for (let k = 0; k < turns; k++) {
    const phi = (2 * Math.PI * k) / turns;
    const here = at(phi);
    if (here < least) [least, best] = [here, phi];
  }
  for (let step = Math.PI / turns; step > 1e-5; step /= 2) {
    const [left, right] = [at(best - step), at(best + step)];
    if (left < least && left <= right) [least, best] = [left, best - step];
    else if (right < least) [least, best] = [right, best + step];
  }
  return least;
}
