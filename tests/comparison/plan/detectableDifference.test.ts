import fc from "fast-check";
import { expect, test } from "vitest";
import { detectableDifference } from "../../../src/comparison/plan/detectableDifference.ts";
import { welchPower } from "../../../src/comparison/power.ts";
import { runsNeeded } from "../../../src/comparison/runsNeeded.ts";
import { describeWith } from "../../support/available.ts";
import { runR, rVector } from "../../support/run.ts";

const cases = [
  [3, 1, 1, 0.05, 0.8],
  [3, 1, 1, 0.05 / 9, 0.8],
  [4, 1, 0.4, 0.05 / 12, 0.8],
  [5, 0.5, 1.5, 0.05 / 12, 0.9],
  [6, 1, 1, 0.05 / 6, 0.8],
  [8, 2, 1, 0.05, 0.8],
  [12, 0.7, 1.3, 0.05 / 12, 0.8],
  [20, 1, 1, 0.05 / 9, 0.8],
] as const;

describeWith(["r"], "against R", () => {
  test("the root of the power that R integrates over the beta distribution of how the spread is split", () => {
    const columns = ["n", "s0", "s1", "a", "p"].map((name, i) => `${name} <- ${rVector(cases.map((one) => one[i]!))}`);
    const expected = runR(`${columns.join("\n")}; options(warn = -1)
      power <- function(d, n, s0, s1, a) { f <- n - 1; se <- sqrt((s0^2 + s1^2) / n)
        given <- function(b) { v0 <- b * s0^2 / f / n; v1 <- (1 - b) * s1^2 / f / n
          df <- (v0 + v1)^2 / ((v0^2 + v1^2) / f); t <- qt(1 - a / 2, df) * sqrt(2 * f * (v0 + v1)) / se
          pt(t, 2 * f, d / se, lower.tail = FALSE) + pt(-t, 2 * f, d / se) }
        integrate(function(b) given(b) * dbeta(b, f / 2, f / 2), 0, 1, rel.tol = 1e-8)$value }
      one <- function(n, s0, s1, a, p)
        uniroot(function(d) power(d, n, s0, s1, a) - p, c(0.5, 25) * (s0 + s1) / sqrt(n), tol = 1e-9)$root
      cat(format(mapply(one, n, s0, s1, a, p), digits = 17), sep = "\\n")`);
    for (const [i, [runs, s0, s1, level, power]] of cases.entries()) {
      const found = detectableDifference({ runs, sd: [s0, s1], level, power });
      // welchPower's 24 points are right to 5e-4 of the power at 3 runs, which is as much of the difference; more from 4 on
      expect(Math.abs(found / expected[i]! - 1)).toBeLessThan(runs === 3 ? 1e-3 : 1e-4);
    }
  });
});

test("the power at the smallest difference is the one wanted; it grows with the spread and falls with runs", () => {
  fc.assert(
    fc.property(
      fc.record({
        runs: fc.integer({ min: 3, max: 40 }),
        sd: fc.tuple(fc.double({ min: 0.05, max: 3, noNaN: true }), fc.double({ min: 0.05, max: 3, noNaN: true })),
        level: fc.double({ min: 1e-4, max: 0.1, noNaN: true }),
        power: fc.double({ min: 0.5, max: 0.99, noNaN: true }),
      }),
      (plan) => {
        const found = detectableDifference(plan);
        // at unequal spreads the planned power may be the smaller one and decide
        expect(welchPower(found, plan)).toBeGreaterThan(plan.power - 1e-6);
        const [s0, s1] = plan.sd;
        const wider = detectableDifference({ ...plan, sd: [3e-3 * s0, 3e-3 * s1] });
        expect(Math.abs(wider / found / 3e-3 - 1)).toBeLessThan(1e-9);
        expect(detectableDifference({ ...plan, runs: plan.runs + 1 })).toBeLessThan(found);
      },
    ),
    { seed: 51, numRuns: 60 },
  );
});

test("it is the smallest difference at as many runs as that needs, and more than it at one run fewer", () => {
  for (const [sd, level] of [
    [1, 0.05],
    [0.6, 0.05 / 12],
    [1.4, 0.05 / 6],
  ] as const) {
    const smallestDifference = 1;
    const runs = runsNeeded({ smallestDifference, sd, spreadDf: 8, level }).middle;
    expect(detectableDifference({ runs, sd, level, power: 0.8 })).toBeLessThanOrEqual(1);
    expect(detectableDifference({ runs: runs - 1, sd, level, power: 0.8 })).toBeGreaterThan(1);
  }
});
