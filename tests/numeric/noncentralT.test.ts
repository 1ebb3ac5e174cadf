import { describe, expect, test } from "vitest";
import { CounterpoiseError, NotFiniteError } from "../../src/foundation/errors.ts";
import { chiAverage } from "../../src/numeric/chiScale.ts";
import { chiSquaredTails } from "../../src/numeric/chiSquared.ts";
import { normalCdf } from "../../src/numeric/normal.ts";
import { noncentralTCdf, studentTCdf } from "../../src/numeric/studentT.ts";
import published from "../published/data/distributions.json";
import { describeWith } from "../support/available.ts";
import { runR, rVector } from "../support/run.ts";
import { relativeError, worstDifference, worstRelativeError } from "./relativeError.ts";

/** Cumulative distribution: the lower of the two tails. */
const chiSquaredCdf = (x: number, degreesOfFreedom: number): number => chiSquaredTails(x, degreesOfFreedom).lower;

test.each(published.rows.filter(({ fn }) => fn === "nct.cdf"))("$fn $args is $value", ({ args, value }) => {
  const [t, df, noncentrality] = args as [number, number, number];
  // 15 digits printed; R itself stops at 1e-12
  expect(Math.abs(noncentralTCdf(t, df, noncentrality) - Number(value))).toBeLessThan(2e-12);
});

const degrees = [1, 1.5, 2, 3, 4, 7.3, 10, 22, 38, 100, 1000, 1e4, 1e5];
/** t about where the distribution lies, and where a test of few runs or many draws its line. */
const grid = (noncentralities: readonly number[], dfs = degrees): [t: number, df: number, noncentrality: number][] =>
  dfs.flatMap((df) =>
    noncentralities.flatMap((noncentrality) => {
      const sd = Math.sqrt(1 + noncentrality ** 2 / (2 * df));
      const t = [-4, -2, -1, -0.3, 0, 0.3, 1, 2, 4, 8].map((k) => noncentrality + k * sd);
      return [...t, 2.1, 6.9, 40].map((value) => [value, df, noncentrality] as [number, number, number]);
    }),
  );
const columns = (cases: readonly (readonly number[])[]): string =>
  ["t", "df", "d"].map((name, i) => `${name} <- ${rVector(cases.map((one) => one[i]!))}`).join("\n");
const lower = (cases: ReturnType<typeof grid>): number[] => cases.map(([t, df, d]) => noncentralTCdf(t, df, d));
const upper = (cases: ReturnType<typeof grid>): number[] => cases.map(([t, df, d]) => noncentralTCdf(-t, df, -d));

describeWith(["r"], "against R", () => {
  test("both tails agree with pt for 1 to 1e5 degrees of freedom and noncentralities from -25 to 25", () => {
    const cases = grid([-25, -12, -5, -1, 0, 0.3, 1, 2.5, 4, 8, 15, 25]);
    const found = runR(`${columns(cases)}; options(warn = -1)
      cat(format(c(pt(t, df, ncp = d), pt(t, df, ncp = d, lower.tail = FALSE)), digits = 17), sep = "\n")`);
    // R itself is off by 2e-11 at 1e5 degrees of freedom: it gives upper tails of 1.00000000002
    expect(worstDifference([...lower(cases), ...upper(cases)], found)).toBeLessThan(1e-10);
  });

  test("noncentralities of 30 and 37 agree with R's integral over the chi distribution", () => {
    // not with pt: for t = 40.1, 1e4 degrees of freedom and 37 its upper tail is 1e-12 where one in 700 is right
    const cases = grid([-37, 30, 37], [1, 2, 4, 10, 38, 1000, 1e4, 1e5]);
    const found = runR(`${columns(cases)}
      one <- function(t, df, d) {
        f <- function(s) pnorm(t * s - d) * dchisq(df * s * s, df) * 2 * df * s
        edge <- sqrt(qchisq(c(1e-18, 1e-6, 0.01, 0.2, 0.5, 0.8, 0.99), df) / df)
        edge <- c(edge, sqrt(qchisq(c(1e-6, 1e-18), df, lower.tail = FALSE) / df))
        turn <- d / t + c(-8, -3, -1, 0, 1, 3, 8) / abs(t)
        edge <- sort(unique(c(edge, turn[is.finite(turn) & turn > edge[1] & turn < edge[9]])))
        parts <- sapply(2:length(edge), function(i)
          integrate(f, edge[i - 1], edge[i], rel.tol = 1e-12, abs.tol = 1e-15, stop.on.error = FALSE)$value)
        sum(parts)
      }
      cat(format(mapply(one, t, df, d), digits = 17), sep = "\n")`);
    expect(worstDifference(lower(cases), found)).toBeLessThan(1e-11);
    expect(
      worstDifference(
        upper(cases).map((value) => 1 - value),
        found,
      ),
    ).toBeLessThan(1e-11);
  });
});

describe("the noncentral t by hand", () => {
  test("without noncentrality it is Student's t", () => {
    const cases = grid([0], [...degrees, 0.3]);
    const student = cases.map(([t, df]) => studentTCdf(t, df));
    // two ways to the same number, the other one checked against tables; it is off by 1.3e-13 itself at 1e5 (R's pt says so)
    expect(worstDifference(lower(cases), student)).toBeLessThan(3e-13);
    // a tail holds its digits as far down as levels of significance go; studentTCdf's own loses some beyond 1000
    const tails = cases.filter(([, df], i) => student[i]! > 1e-9 && df <= 1000);
    expect(
      worstRelativeError(
        lower(tails),
        tails.map(([t, df]) => studentTCdf(t, df)),
      ),
    ).toBeLessThan(1e-12);
  });

  test("at t = 0 the spread does not matter: a normal distribution", () => {
    for (const df of degrees) expect(noncentralTCdf(0, df, 1.7)).toBe(normalCdf(-1.7));
    // and it is reached without a jump
    expect(noncentralTCdf(1e-12, 5, 1.7)).toBeCloseTo(normalCdf(-1.7), 11);
  });

  test("with a trillion degrees of freedom it is a normal distribution", () => {
    for (const [t, d] of [
      [1, 2],
      [-3, -1],
      [5, 4.5],
    ] as const) {
      // the difference falls as 1 / (4 df)
      expect(Math.abs(noncentralTCdf(t, 1e12, d) - normalCdf(t - d))).toBeLessThan(2e-12);
    }
  });

  test("both tails make up 1, also where normalCdf turns sharply", () => {
    const cases = grid([-37, -10, -2, 0, 2, 10, 37, 200], [0.5, ...degrees]);
    const above = upper(cases);
    const sums = lower(cases).map((value, i) => value + above[i]!);
    expect(
      worstDifference(
        sums,
        sums.map(() => 1),
      ),
    ).toBeLessThan(5e-13);
  });

  test("the ends, and what it refuses", () => {
    expect(noncentralTCdf(Number.POSITIVE_INFINITY, 3, 1)).toBe(1);
    expect(noncentralTCdf(Number.NEGATIVE_INFINITY, 3, 1)).toBe(0);
    expect(() => noncentralTCdf(Number.NaN, 3, 1)).toThrow(NotFiniteError);
    expect(() => noncentralTCdf(1, 3, Number.POSITIVE_INFINITY)).toThrow(NotFiniteError);
    for (const df of [0, -1, Number.NaN, Number.POSITIVE_INFINITY]) {
      expect(() => noncentralTCdf(1, df, 1)).toThrow(CounterpoiseError);
    }
  });
});

describe("averages over the spread", () => {
  test("moments of chi-squared: mean df, variance 2 df", () => {
    for (const df of [0.3, 1, 2.5, 4, 11, 80, 2e6, 1e12]) {
      expect(
        relativeError(
          chiAverage(df, () => 1),
          1,
        ),
      ).toBeLessThan(1e-13);
      expect(
        relativeError(
          chiAverage(df, (s) => s * s),
          1,
        ),
      ).toBeLessThan(1e-13);
      expect(
        relativeError(
          chiAverage(df, (s) => s ** 4),
          1 + 2 / df,
        ),
      ).toBeLessThan(1e-12);
    }
  });

  test("up to a limit: a triangle that ends there, by parts from chi-squared itself", () => {
    for (const df of [1, 2.5, 4, 11, 80, 1000]) {
      for (const limit of [0.05, 0.4, 0.9, 0.98, 1, 1.01, 1.2, 1.9, 3, 50]) {
        // s^2 f(s; df) = f(s; df + 2) with s rescaled: the mean of (1 - s^2 / limit^2) up to the limit
        const below = (more: number): number => chiSquaredCdf(df * limit * limit, df + more);
        const exact = below(0) - below(2) / limit ** 2;
        const found = chiAverage(df, (s) => 1 - (s / limit) ** 2, { limit });
        // the exact value is a difference of two numbers of up to 1, the limit squared below it
        expect(Math.abs(found - exact)).toBeLessThan(1e-12 * Math.max(1, 1 / limit ** 2));
      }
    }
  });

  test("a limit far below anything the spread can be leaves nothing", () => {
    expect(chiAverage(100, () => 1, { limit: 0.01 })).toBe(0);
  });

  test("it refuses what is no number of degrees of freedom", () => {
    expect(() => chiAverage(0, () => 1)).toThrow(CounterpoiseError);
  });
});
