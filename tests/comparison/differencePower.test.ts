import { describe, expect, test } from "vitest";
import { criticalValue } from "../../src/comparison/decideVerdict.ts";
import { plannedError } from "../../src/comparison/plannedError.ts";
import { differencePower } from "../../src/comparison/power.ts";
import { CounterpoiseError, NotFiniteError } from "../../src/foundation/errors.ts";
import { relativeError, worstDifference, worstRelativeError } from "../numeric/relativeError.ts";
import published from "../published/data/power.json";
import { describeWith } from "../support/available.ts";
import { runR, rVector } from "../support/run.ts";

describe("published powers of the t test", () => {
  test.each(published.differences.rows)("$runs runs at $difference: $power", (row) => {
    // only the tail on the true side is in these figures; with both, the first would be 0.8689530
    const level = row.twoSided ? 0.025 : 0.05;
    const found = differencePower(row.difference, { runs: row.runs, sd: 1, level, oneSided: true });
    expect(Math.abs(found - row.power)).toBeLessThan(row.tolerance);
    if (!row.twoSided) return;
    const strict = differencePower(row.difference, { runs: row.runs, sd: 1 });
    expect(strict - found).toBeGreaterThan(0);
    expect(strict - found).toBeLessThan(1e-6);
  });

  test.each(published.differences.cohen)("Cohen: $runs runs a group at $difference: 0.80", ({ difference, runs }) => {
    // two decimals are printed
    expect(Math.abs(differencePower(difference, { runs, sd: 1 }) - 0.8)).toBeLessThan(0.01);
  });
});

const cases = [2, 3, 4, 6, 10, 40, 1000].flatMap((runs) =>
  [0.05, 0.5, 1, 2.5, 8].flatMap((difference) =>
    [0.05, 0.01, 0.05 / 24, 1e-5].map((level) => [runs, difference, level] as const),
  ),
);
const columns = ["n", "d", "a"].map((name, i) => `${name} <- ${rVector(cases.map((one) => one[i]!))}`).join("\n");

describeWith(["r"], "against R", () => {
  test("critical values are qt's, on both sides of where the series takes over", () => {
    const values = [3, 40.5, 19_999, 20_001, 1e5, 1e7, 1e9, 1e13].flatMap((df) =>
      [0.4, 0.05, 0.025, 0.001, 1e-6, 1e-12].map((outside) => [outside, df] as const),
    );
    const expected = runR(
      `cat(format(qt(${rVector(values.map(([p]) => p))}, ${rVector(values.map(([, df]) => df))}, lower.tail = FALSE), digits = 17), sep = "\n")`,
    );
    // near 20 000 studentTQuantile itself has lost three digits of sixteen
    expect(
      worstRelativeError(
        values.map(([p, df]) => criticalValue(p, df)),
        expected,
      ),
    ).toBeLessThan(1e-12);
  });

  test("equal runs and spreads give power.t.test, both tails counted", () => {
    const expected = runR(`${columns}; options(warn = -1)
      one <- function(n, d, a) power.t.test(n = n, delta = d, sd = 1.3, sig.level = a, strict = TRUE)$power
      cat(format(mapply(one, n, d, a), digits = 17), sep = "\n")`);
    const found = cases.map(([runs, difference, level]) => differencePower(difference, { runs, sd: 1.3, level }));
    // power.t.test turns the level into 1 - level / 2: at 1e-5 that costs five digits of sixteen
    expect(worstDifference(found, expected)).toBeLessThan(1e-10);
  });

  test("one-sided power is power.t.test's", () => {
    const expected = runR(`${columns}; options(warn = -1)
      one <- function(n, d, a) power.t.test(n = n, delta = d, sig.level = a, alternative = "one.sided")$power
      cat(format(mapply(one, n, d, a), digits = 17), sep = "\n")`);
    const found = cases.map(([runs, difference, level]) =>
      differencePower(-difference, { runs, sd: 1, level, oneSided: true }),
    );
    expect(worstDifference(found, expected)).toBeLessThan(1e-10);
  });

  test("unequal runs and spreads give R's noncentral t at Satterthwaite's degrees of freedom", () => {
    const plans = [
      [6, 3, 1, 2],
      [3, 6, 1, 2],
      [4, 9, 0.5, 0.1],
      [12, 5, 1, 0],
      [100, 7, 3, 1],
    ] as const;
    const column = (i: 0 | 1 | 2 | 3): string => rVector(plans.map((plan) => plan[i]));
    const expected = runR(`n0 <- ${column(0)}; n1 <- ${column(1)}; s0 <- ${column(2)}; s1 <- ${column(3)}
      v0 <- s0^2 / n0; v1 <- s1^2 / n1; df <- (v0 + v1)^2 / (v0^2 / (n0 - 1) + v1^2 / (n1 - 1)); d <- 1.1 / sqrt(v0 + v1)
      q <- qt(0.005, df, lower.tail = FALSE)
      cat(format(c(df, pt(q, df, ncp = d, lower.tail = FALSE) + pt(-q, df, ncp = d)), digits = 17), sep = "\n")`);
    const found = [
      ...plans.map(([n0, n1, s0, s1]) => plannedError([n0, n1], [s0, s1]).degreesOfFreedom),
      ...plans.map(([n0, n1, s0, s1]) => differencePower(1.1, { runs: [n0, n1], sd: [s0, s1], level: 0.01 })),
    ];
    expect(worstDifference(found, expected)).toBeLessThan(1e-10);
  });
});

describe("power by reasoning", () => {
  test("no true difference is found as often as the level says", () => {
    for (const level of [0.05, 0.002, 1e-7]) {
      expect(relativeError(differencePower(0, { runs: 4, sd: 2, level }), level)).toBeLessThan(1e-11);
      expect(
        relativeError(differencePower(0, { runs: [5, 3], sd: [1, 4], level, oneSided: true }), level),
      ).toBeLessThan(1e-11);
    }
  });

  test("only the difference over the spread matters, not the unit nor the sign", () => {
    const metres = differencePower(0.0015, { runs: 5, sd: [0.0008, 0.0011] });
    expect(differencePower(-1.5, { runs: 5, sd: [0.8, 1.1] })).toBeCloseTo(metres, 13);
    expect(differencePower(1.5e-200, { runs: 5, sd: [0.8e-200, 1.1e-200] })).toBeCloseTo(metres, 13);
    expect(differencePower(0.0015, { runs: 5, sd: [0.0011, 0.0008] })).toBeCloseTo(metres, 13);
  });

  test("a difference beyond all numbers of spreads cannot be missed", () => {
    expect(differencePower(1e300, { runs: 3, sd: 1e-300 })).toBe(1);
    expect(differencePower(1e6, { runs: 3, sd: 1 })).toBeCloseTo(1, 13);
  });

  test("equal runs and spreads leave 2 (runs - 1) degrees of freedom", () => {
    const planned = plannedError(20, 1);
    expect(planned.standardError).toBeCloseTo(Math.sqrt(0.1), 15);
    expect(planned.degreesOfFreedom).toBeCloseTo(38, 12);
    // without any spread on one side only the other one counts
    expect(plannedError([5, 9], [0, 1]).degreesOfFreedom).toBeCloseTo(8, 12);
  });

  test("what it refuses", () => {
    const code = (expected: string): unknown => expect.objectContaining({ code: expected });
    expect(() => differencePower(Number.NaN, { runs: 3, sd: 1 })).toThrow(NotFiniteError);
    for (const runs of [1, 0, Number.NaN, Number.POSITIVE_INFINITY, [3, 1] as const]) {
      expect(() => differencePower(1, { runs, sd: 1 })).toThrow(code("too-few-planned-runs"));
    }
    for (const sd of [0, -1, Number.NaN, Number.POSITIVE_INFINITY, [1, -1] as const, [0, 0] as const]) {
      expect(() => differencePower(1, { runs: 3, sd })).toThrow(code("no-planned-spread"));
    }
    expect(() => differencePower(1, { runs: 3, sd: 1, level: 2 })).toThrow(CounterpoiseError);
  });
});
