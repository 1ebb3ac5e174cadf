import { expect, test } from "vitest";
import type { RefinedOffset } from "../../../src/alignment/clock/refineOffset.ts";
import { withBelief } from "../../../src/alignment/clock/skewBelief.ts";
import { seededRandom } from "../../../src/numeric/seededRandom.ts";

/** What the motion of a flight of 20 s shows, at its start: 0.35 ms in the middle, a drift known to 2e-4. */
const [middle, drift, half] = [3.5e-4, 2e-4, 10];
const covariance = [middle ** 2 + (half * drift) ** 2, -half * drift ** 2, drift ** 2] as const;

function shown(offset: number, skew: number): RefinedOffset {
  const [v00, , v11] = covariance;
  return { offset, skew, at: 0, covariance, offsetStandardError: Math.sqrt(v00), skewStandardError: Math.sqrt(v11) };
}

test("is the least squares of what the motion shows and of a drift of 0 measured with that error", () => {
  const believed = 1e-4;
  const { offset, skew, covariance: left } = withBelief(shown(0.12, 3e-4), believed);
  // the information matrices add: V'^-1 = V^-1 + diag(0, 1/s^2), and V'^-1 x' = V^-1 x
  const [a, b, d] = covariance;
  const determinant = a * d - b * b;
  const information = [d / determinant, -b / determinant, a / determinant + 1 / believed ** 2] as const;
  const right = [(d * 0.12 - b * 3e-4) / determinant, (-b * 0.12 + a * 3e-4) / determinant] as const;
  const whole = information[0] * information[2] - information[1] ** 2;
  const expected = [information[2] / whole, -information[1] / whole, information[0] / whole] as const;
  // two ways to one figure in doubles, the matrices conditioned like 1e8
  expect(offset / (expected[0] * right[0] + expected[1] * right[1])).toBeCloseTo(1, 7);
  expect(skew / (expected[1] * right[0] + expected[2] * right[1])).toBeCloseTo(1, 7);
  for (const k of [0, 1, 2] as const) expect(left[k] / expected[k]).toBeCloseTo(1, 7);
});

test("leaves a drift that the motion shows well", () => {
  const well = { ...shown(0.12, 4e-4), covariance: [1e-8, 0, 3e-5 ** 2] as const };
  const { offset, skew } = withBelief(well, 1e-4);
  expect(offset).toBe(0.12);
  // 1e-8 / (1e-8 + 9e-10) of it
  expect(skew).toBeCloseTo(4e-4 / 1.09, 12);
});

// Clocks drawn from the belief and estimates drawn about them from their covariance. Of 4000 intervals 95 % hold the truth, to
// 1.4 % (four standard errors); the error at the start is less than half of what it was: sqrt(V') / sqrt(V) = 0.47.
test("its standard errors hold the truth where clocks are as is believed", () => {
  const { normal } = seededRandom(5);
  let [within, before, after] = [0, 0, 0];
  for (let i = 0; i < 4000; i++) {
    const truth = 1e-4 * normal();
    const wrong = drift * normal();
    const found = withBelief(shown(middle * normal() - half * wrong, truth + wrong), 1e-4);
    if (Math.abs(found.offset) < 1.96 * found.offsetStandardError) within++;
    before += (half * wrong) ** 2;
    after += found.offset ** 2;
  }
  expect(within / 4000).toBeGreaterThan(0.936);
  expect(within / 4000).toBeLessThan(0.964);
  expect(Math.sqrt(after / before)).toBeLessThan(0.55);
});
