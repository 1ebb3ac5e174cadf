import { expect, test } from "vitest";
import { logScale, logTicks, tickText } from "../../client/figures/logAxes.ts";

test("a logarithmic axis has round ticks: 1, 2 and 5 of a decade, fewer where there are many decades", () => {
  expect(logTicks([0.18, 6])).toEqual([0.2, 0.5, 1, 2, 5]);
  expect(logTicks([0.001, 1])).toEqual([0.001, 0.003, 0.01, 0.03, 0.1, 0.3, 1]);
  expect(logTicks([1e-5, 100])).toEqual([1e-5, 1e-4, 1e-3, 1e-2, 0.1, 1, 10, 100]);
  for (const [low, high] of [
    [0.0017, 0.0016 * 1e5],
    [3, 31],
    [0.999, 1.001],
  ] as const)
    for (const tick of logTicks([low, high])) {
      expect(tick).toBeGreaterThanOrEqual(low * (1 - 1e-9));
      expect(tick).toBeLessThanOrEqual(high * (1 + 1e-9));
    }
});

test("ticks are written plainly, and as powers of ten where that would be long", () => {
  expect([0.001, 0.3, 1, 20, 1000].map(tickText)).toEqual(["0.001", "0.3", "1", "20", "1000"]);
  expect([1e-5, 3e-4, 1e4, 2e6].map(tickText)).toEqual(["10⁻⁵", "3·10⁻⁴", "10⁴", "2·10⁶"]);
});

test("a scale holds all values above 0 and leaves others out; without any there is none", () => {
  const scale = logScale([0, 2, 50, -1], [0, 100])!;
  expect(scale.domain()[0]!).toBeLessThan(2);
  expect(scale.domain()[1]!).toBeGreaterThan(50);
  expect(logScale([0, 0], [0, 100])).toBeNull();
});
