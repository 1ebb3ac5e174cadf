import { describe, expect, test } from "vitest";
import { equivalencePower } from "../../src/comparison/power.ts";
import { CounterpoiseError, NotFiniteError } from "../../src/foundation/errors.ts";
import { noncentralTCdf, studentTQuantile } from "../../src/numeric/studentT.ts";
import { worstDifference } from "../numeric/relativeError.ts";
import published from "../published/data/power.json";
import { describeWith } from "../support/available.ts";
import { runR, rVector } from "../support/run.ts";

type Published = (typeof published.equivalence.cases)[number];

/** A published case as equivalencePower wants it, with `fewer` runs less; see `meaning` in the file. */
function asPlan(one: Published, fewer = 0): Parameters<typeof equivalencePower> {
  const scale = (value: number): number => (one.log ? Math.log(value) : value);
  const sd = one.log ? Math.sqrt(Math.log1p(one.cv ** 2)) : one.cv;
  const n = (one.n ?? 0) - fewer;
  const [n1, n2] = one.n1 === undefined ? [n / 2, n / 2] : [one.n1, one.n2!];
  const crossover = one.design !== "parallel";
  return [
    scale(one.theta0),
    {
      margin: [scale(one.lo), scale(one.hi)],
      standardError: sd * (crossover ? Math.sqrt(2 / n) : Math.sqrt(1 / n1 + 1 / n2)),
      degreesOfFreedom: n1 + n2 - 2,
    },
  ];
}

describe("published powers of two one-sided tests", () => {
  test.each(published.equivalence.cases)("$design, cv $cv: $power", (one) => {
    // six or seven decimals are printed
    expect(Math.abs(equivalencePower(...asPlan(one)) - one.power)).toBeLessThan(6e-7);
  });

  test.each(published.equivalence.cases.filter(({ isSampleSizeForPower }) => isSampleSizeForPower))(
    "$design, cv $cv: $n is the smallest even total for 80 %",
    (one) => {
      expect(equivalencePower(...asPlan(one))).toBeGreaterThanOrEqual(0.8);
      expect(equivalencePower(...asPlan(one, 2))).toBeLessThan(0.8);
    },
  );
});

describeWith(["r"], "against R", () => {
  test("agrees with R's integral over the chi distribution", () => {
    // margin over standard error, difference over it, degrees of freedom, level
    const cases = [0.4, 1.1, 2, 4, 9, 30].flatMap((margin) =>
      [0, 0.5, 1.1].flatMap((part) =>
        [1, 2.4, 4, 10, 46, 3000].flatMap((df) =>
          [0.05, 0.005].map((level) => [margin, part * margin, df, level] as const),
        ),
      ),
    );
    const columns = ["m", "d", "df", "a"]
      .map((name, i) => `${name} <- ${rVector(cases.map((one) => one[i]!))}`)
      .join("\n");
    const expected = runR(`${columns}
      one <- function(m, d, df, a) {
        q <- qt(a, df, lower.tail = FALSE)
        f <- function(s) (pnorm(m - d - q * s) - pnorm(-m - d + q * s)) * dchisq(df * s * s, df) * 2 * df * s
        end <- m / q
        edge <- c(0, sqrt(qchisq(c(1e-18, 1e-9, 1e-4, 0.02, 0.2, 0.5, 0.8, 0.98), df) / df))
        edge <- c(edge, sqrt(qchisq(c(1e-4, 1e-9, 1e-18), df, lower.tail = FALSE) / df))
        edge <- c(edge, (m - d + c(-6, -2, 0, 2, 6)) / q)
        edge <- sort(unique(c(edge[edge >= 0 & edge < end], end)))
        sum(sapply(2:length(edge), function(i)
          integrate(f, edge[i - 1], edge[i], rel.tol = 1e-11, abs.tol = 1e-15, stop.on.error = FALSE)$value))
      }
      cat(format(mapply(one, m, d, df, a), digits = 17), sep = "\n")`);
    const found = cases.map(([margin, difference, degreesOfFreedom, level]) =>
      equivalencePower(difference, { margin, standardError: 1, degreesOfFreedom, level }),
    );
    expect(worstDifference(found, expected)).toBeLessThan(1e-11);
  });
});

describe("power of equivalence by reasoning", () => {
  test("with margins far apart it is that of the nearer test alone", () => {
    // the other margin is 60 standard errors away: it stops nothing that sixteen digits show at 40 degrees of freedom
    const t = studentTQuantile(0.95, 40);
    const found = equivalencePower(0, { margin: [-60, 2.5], standardError: 1, degreesOfFreedom: 40 });
    expect(Math.abs(found - noncentralTCdf(-t, 40, -2.5))).toBeLessThan(1e-13);
  });

  test("at the margin itself it is passed at most as often as the level says", () => {
    for (const df of [2, 4, 20]) {
      for (const margin of [0.5, 2, 5, 40]) {
        const found = equivalencePower(margin, { margin, standardError: 1, degreesOfFreedom: df });
        expect(found).toBeLessThanOrEqual(0.05 + 1e-12);
      }
      expect(equivalencePower(1e4, { margin: 1e4, standardError: 1, degreesOfFreedom: df })).toBeCloseTo(0.05, 11);
    }
  });

  test("few runs with a wide spread have a small power, never less than none", () => {
    const found = equivalencePower(0, { margin: 0.5, standardError: 1, degreesOfFreedom: 4 });
    expect(found).toBeGreaterThan(0);
    expect(found).toBeLessThan(0.05);
  });

  test("mirrored margins and difference change nothing", () => {
    const one = equivalencePower(0.3, { margin: [-1, 2], standardError: 0.4, degreesOfFreedom: 7 });
    expect(equivalencePower(-0.3, { margin: [-2, 1], standardError: 0.4, degreesOfFreedom: 7 })).toBeCloseTo(one, 13);
  });

  test("what it refuses", () => {
    const plan = { margin: 1, standardError: 1, degreesOfFreedom: 4 };
    const code = (expected: string): unknown => expect.objectContaining({ code: expected });
    expect(() => equivalencePower(Number.NaN, plan)).toThrow(NotFiniteError);
    for (const margin of [0, -1, Number.NaN, Number.POSITIVE_INFINITY, [1, 1] as const]) {
      expect(() => equivalencePower(0, { ...plan, margin })).toThrow(code("not-a-margin"));
    }
    for (const standardError of [0, -1, Number.NaN, Number.POSITIVE_INFINITY]) {
      expect(() => equivalencePower(0, { ...plan, standardError })).toThrow(code("no-planned-spread"));
    }
    for (const level of [0.5, 1, -1, 2, Number.NaN]) {
      expect(() => equivalencePower(0, { ...plan, level })).toThrow(code("not-a-probability"));
    }
    expect(equivalencePower(0, { ...plan, level: 0 })).toBe(0);
    expect(() => equivalencePower(0, { ...plan, degreesOfFreedom: 0 })).toThrow(CounterpoiseError);
  });
});
