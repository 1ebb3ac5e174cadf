import { noncentralTCdf } from "../numeric/noncentralTCdf.ts";
import { criticalValue } from "./criticalValue.ts";
import { differencePower } from "./differencePower.ts";
import { both, type Pair, plannedError } from "./plannedError.ts";

/** Points of the average over how the spread is split; 12 give five digits down to 4 runs, 24 down to 3. */
const POINTS = 24;

/** With more degrees of freedom than this the formula of `differencePower` is right to 2e-3, and cheaper. */
const MANY = 60;

/**
 * Power of Welch's test with the degrees of freedom it will have: those are estimated from the runs, and so fewer than the
 * planned ones that `differencePower` uses. With 4 v 4 runs at 0.05/12 that is 0.66 where the planned ones promise 0.80.
 *
 * Exact for normal values. Given b, the baseline's share of the sum of both chi-squared variables (beta distributed, with
 * half their degrees of freedom f0 and f1, and independent of the sum), standard error and degrees of freedom are fixed parts
 * of the sum, and the test is a noncentral t with f0 + f1 degrees of freedom:
 *
 *   average over b of P(|T| > t(1 - level/2, df(b)) sqrt((f0 + f1) g(b)) / se),   g = b s0^2/(f0 n0) + (1 - b) s1^2/(f1 n1)
 *
 * @param options  as for `differencePower`, two-sided
 * @throws NotFiniteError, CounterpoiseError  as `differencePower`
 * @source B. L. Welch, Biometrika 34 (1947) 28-35 (the test); the average is elementary
 * @example welchPower(4, { runs: 4, sd: 1, level: 0.05 / 12 }) // => 0.66237
 */
export function welchPower(difference: number, options: { runs: Pair; sd: Pair; level: number }): number {
  const { runs, sd, level } = options;
  const [n0, n1] = both(runs);
  const [s0, s1] = both(sd);
  const [f0, f1] = [n0 - 1, n1 - 1];
  const total = f0 + f1;
  // the split of the spread has no peak below 2 degrees of freedom of either
  if (!(total <= MANY && f0 >= 2 && f1 >= 2 && s0 > 0 && s1 > 0)) return differencePower(difference, options);
  const { standardError } = plannedError(runs, sd);
  const noncentrality = Math.abs(difference) / standardError;
  if (noncentrality === Number.POSITIVE_INFINITY) return level > 0 ? 1 : 0;
  // b = sin^2 of an angle: its density is sin^(f0 - 1) cos^(f1 - 1), smooth and nought at both ends
  const peak = Math.atan2(Math.sqrt(f0 - 1), Math.sqrt(f1 - 1));
  const reach = 6 / Math.sqrt(2 * total);
  const from = Math.max(0, peak - reach);
  const step = (Math.min(Math.PI / 2, peak + reach) - from) / POINTS;
  let sum = 0;
  let whole = 0;
  for (let k = 0; k < POINTS; k++) {
    const angle = from + (k + 0.5) * step;
    const weight = Math.sin(angle) ** (f0 - 1) * Math.cos(angle) ** (f1 - 1);
    const v0 = (Math.sin(angle) * s0) ** 2 / (f0 * n0);
    const v1 = (Math.cos(angle) * s1) ** 2 / (f1 * n1);
    const degreesOfFreedom = (v0 + v1) ** 2 / (v0 ** 2 / f0 + v1 ** 2 / f1);
    const critical = (criticalValue(level / 2, degreesOfFreedom) * Math.sqrt(total * (v0 + v1))) / standardError;
    let power = noncentralTCdf(-critical, total, -noncentrality);
    // the tail on the wrong side: at most normalCdf(-noncentrality)
    if (noncentrality < 9) power += noncentralTCdf(-critical, total, noncentrality);
    sum += weight * power;
    whole += weight;
  }
  return Math.min(1, sum / whole);
}
