import { expect, test } from "vitest";
import { differencePower, welchPower } from "../../src/comparison/power.ts";
import { worstDifference } from "../numeric/relativeError.ts";
import { describeWith } from "../support/available.ts";
import { runR, rVector } from "../support/run.ts";

const cases = [
  [4, 4, 1, 1, 4, 0.05 / 12],
  [3, 3, 1, 1, 3, 0.05],
  [6, 6, 1, 1, 2.5, 0.05 / 6],
  [5, 5, 0.5, 1.5, 5, 0.05 / 12],
  [4, 9, 2, 1, 2, 0.05],
  [9, 4, 0.3, 1.2, 2, 0.01],
  [20, 30, 1, 2, 0.4, 0.05],
] as const;

describeWith(["r"], "against R", () => {
  test("the average over the split of the spread is R's integral over the beta distribution", () => {
    const columns = ["n0", "n1", "s0", "s1", "d", "a"].map(
      (name, i) => `${name} <- ${rVector(cases.map((one) => one[i]!))}`,
    );
    const expected = runR(`${columns.join("\n")}; options(warn = -1)
      one <- function(n0, n1, s0, s1, d, a) { f0 <- n0 - 1; f1 <- n1 - 1; se <- sqrt(s0^2 / n0 + s1^2 / n1)
        given <- function(b) { v0 <- b * s0^2 / f0 / n0; v1 <- (1 - b) * s1^2 / f1 / n1
          df <- (v0 + v1)^2 / (v0^2 / f0 + v1^2 / f1); t <- qt(1 - a / 2, df) * sqrt((f0 + f1) * (v0 + v1)) / se
          pt(t, f0 + f1, d / se, lower.tail = FALSE) + pt(-t, f0 + f1, d / se) }
        integrate(function(b) given(b) * dbeta(b, f0 / 2, f1 / 2), 0, 1, rel.tol = 1e-8)$value }
      cat(format(mapply(one, n0, n1, s0, s1, d, a), digits = 17), sep = "\\n")`);
    const found = cases.map(([n0, n1, s0, s1, d, level]) => welchPower(d, { runs: [n0, n1], sd: [s0, s1], level }));
    // 24 points: three digits and a half at 3 runs, where the beta distribution has no smooth ends, more above
    expect(worstDifference(found, expected)).toBeLessThan(5e-4);
  });
});

test("with many runs it is the planned power, and never more than that at equal spreads", () => {
  const options = { sd: 1, level: 0.05 };
  expect(welchPower(0.5, { ...options, runs: 64 })).toBe(differencePower(0.5, { ...options, runs: 64 }));
  for (const runs of [3, 4, 5, 8, 15, 30]) {
    expect(welchPower(1.5, { ...options, runs })).toBeLessThan(differencePower(1.5, { ...options, runs }));
  }
});
