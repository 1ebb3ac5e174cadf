import { spawnSync } from "node:child_process";
import { describe, expect, test } from "vitest";
import { differenceOverPhase, meanOverRuns } from "../../client/figures/meanOverRuns.ts";
import { describeWith, python } from "../support/available.ts";

describe("curves over cycle phase", () => {
  // t(0.975, 1 degree of freedom) = 12.706 (any table of Student's t); two runs: half width = 12.706 * |a - b| / 2
  test("the band of two runs is the one of Student's table", () => {
    const { mean, low, high } = meanOverRuns([
      [0.001, 0.004],
      [0.003, 0.004],
    ]);
    expect(mean[0]).toBeCloseTo(0.002, 15);
    expect(high[0]! - mean[0]!).toBeCloseTo(0.012706, 6);
    expect(mean[0]! - low[0]!).toBeCloseTo(0.012706, 6);
    expect([mean[1], low[1], high[1]]).toEqual([0.004, 0.004, 0.004]);
  });

  test("a phase that too few runs have shows a mean without a band, or nothing", () => {
    const { mean, low } = meanOverRuns([
      [1, null, null],
      [3, 5, null],
    ]);
    expect(mean).toEqual([2, 5, null]);
    expect(low.slice(1)).toEqual([null, null]);
    const apart = differenceOverPhase([[1, 1]], [[4, null]]);
    expect([apart.mean, apart.low]).toEqual([
      [3, null],
      [null, null],
    ]);
  });
});

describeWith(["scipy"], "against SciPy", () => {
  test("the difference's band is Welch's interval at each phase", () => {
    const baseline = [
      [1.2, 0.3],
      [1.9, 0.1],
      [1.4, 0.5],
      [1.1, 0.2],
    ];
    const candidate = [
      [0.7, 0.9],
      [0.2, 0.4],
      [0.9, 0.8],
    ];
    const code = `
import json
from scipy import stats
a, b = ${JSON.stringify(baseline)}, ${JSON.stringify(candidate)}
import numpy as np
out = []
for k in range(2):
    x, y = np.array([r[k] for r in b]), np.array([r[k] for r in a])
    u, v = x.var(ddof=1) / len(x), y.var(ddof=1) / len(y)
    df = (u + v) ** 2 / (u * u / (len(x) - 1) + v * v / (len(y) - 1))
    d = x.mean() - y.mean()
    h = stats.t.ppf(0.975, df) * (u + v) ** 0.5
    out.append([d, d - h, d + h])
print(json.dumps(out))`;
    const { stdout, stderr } = spawnSync(python, ["-c", code], { encoding: "utf8" });
    expect(stderr).toBe("");
    const expected = JSON.parse(stdout) as [number, number, number][];
    const { mean, low, high } = differenceOverPhase(baseline, candidate);
    // both carry twelve digits at least
    for (const [k, [d, from, to]] of expected.entries()) {
      expect(Math.abs(mean[k]! - d)).toBeLessThan(1e-12);
      expect(Math.abs(low[k]! - from)).toBeLessThan(1e-11);
      expect(Math.abs(high[k]! - to)).toBeLessThan(1e-11);
    }
  });
});
