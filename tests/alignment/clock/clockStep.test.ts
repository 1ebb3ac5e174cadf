import { expect, test } from "vitest";
import { clockStep } from "../../../src/alignment/clock/clockStep.ts";
import { gridRates } from "../../../src/alignment/clock/rateGrid.ts";
import { refineOffset } from "../../../src/alignment/clock/refineOffset.ts";
import { defaultSettings } from "../../../src/contract/settings.ts";
import { bandLimited, seen } from "./motion.ts";

/** What is found of a capture that was set by `by` at 13 s of 30, beside a gyro that runs true. */
function found(seed: number, by: number) {
  const motion = bandLimited(300 + seed);
  const whole = seen(motion, { rate: 100, from: 0, to: 30, offset: 0.2, skew: 20e-6, noise: 7e-4, seed });
  const that = { ...whole, t: whole.t.map((t) => t + (t - 0.2 > 13 ? by : 0)) };
  const reference = seen(motion, { rate: 200, from: 0, to: 30, rateNoise: 0.002, seed: seed + 100 });
  const grids = [gridRates(that, 0.005, 0.04), gridRates(reference, 0.005, 0.04)] as const;
  return clockStep(...grids, refineOffset(...grids, { offset: 0.2 + by / 2, skew: 0, at: 15 }, 0)!)!;
}

test.each([-0.03, -0.01, 0.01, 0.03])("a step of %f s has its place, its size, and an honest error", (by) => {
  for (let seed = 1; seed <= 5; seed++) {
    const { at, size, standardError } = found(seed, by);
    expect(Math.abs(at - 13)).toBeLessThanOrEqual(1);
    expect(Math.abs(size - by)).toBeLessThan(4 * standardError + 0.05 * Math.abs(by));
    expect(Math.abs(size)).toBeGreaterThan(5 * standardError);
  }
});

test("a clock that drifts by 20 ppm has none that is clear", () => {
  // the largest of some twenty places; 60 simulated flights of varied rate, noise and air reached 3.3
  for (let seed = 1; seed <= 20; seed++) {
    const { size, standardError } = found(seed, 0);
    expect(Math.abs(size)).toBeLessThan(Math.max(defaultSettings.clock_step, 5 * standardError));
  }
});
