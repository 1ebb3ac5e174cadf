import { describe, expect, test } from "vitest";
import { type NestedVariance, nestedVariance } from "../../src/comparison/components/nestedVariance.ts";
import {
  neighbourCorrelation,
  nestedVarianceInterval,
} from "../../src/comparison/components/nestedVarianceInterval.ts";
import {
  designEffect,
  intraclass,
  type RunSums,
  runSums,
  whereReached,
} from "../../src/comparison/components/nestedVarianceRuns.ts";
import { type SeededRandom, seededRandom } from "../../src/numeric/seededRandom.ts";
import published from "../published/data/variance.json";
import { describeWith } from "../support/available.ts";
import { runR, rVector } from "../support/run.ts";

interface Cycled {
  readonly group: string;
  readonly cycles: readonly number[];
}

const sumsOf = (runs: readonly Cycled[]): RunSums[] => runs.map(({ group, cycles }) => runSums(group, cycles));
const together = (runs: readonly (readonly number[])[]): RunSums[] => runs.map((cycles) => runSums("all", cycles));
const within = (found: number, expected: number, limit: number): void =>
  expect(Math.abs(found - expected), `found ${found}, expected ${expected}`).toBeLessThan(limit);

/** Runs of 8 to 14 cycles; `counts` per group; sd between cycles 1. */
function drawRuns(random: SeededRandom, counts: readonly number[], between: number, centre = 6): Cycled[] {
  return counts.flatMap((count, group) =>
    Array.from({ length: count }, () => {
      const own = centre + 0.3 * group + between * random.normal();
      const cycles = 8 + Math.floor(7 * random.uniform());
      return { group: `g${group}`, cycles: Array.from({ length: cycles }, () => own + random.normal()) };
    }),
  );
}

/** Cages of mosquitoes: the fit, the mean square of the cages, and its F on the females' means. */
function aedesFit(): { fit: NestedVariance; square: number; f: number } {
  const fit = nestedVariance(
    sumsOf(
      published.aedes.cages.flatMap((females, cage) => females.map((cycles) => ({ group: `cage ${cage}`, cycles }))),
    ),
  )!;
  const means = [...fit.groupMeans.values()];
  const centre = means.reduce((sum, mean) => sum + mean / 3, 0);
  const square = (8 * means.reduce((sum, mean) => sum + (mean - centre) ** 2, 0)) / 2;
  return { fit, square, f: square / (fit.betweenCycles ** 2 + 2 * fit.betweenRuns ** 2) };
}

describe("published components of variance", () => {
  test("dyestuff: REML standard deviations and criterion", () => {
    const { batches, between, within: cycles, criterion } = published.dyestuff;
    const found = nestedVariance(together(batches))!;
    // a unit of the last printed digit
    within(found.betweenRuns, between, 1e-4);
    within(found.betweenCycles, cycles, 1e-4);
    within(found.criterion, criterion, 1e-4);
    expect(found.degreesOfFreedom).toEqual({ runs: 5, cycles: 24 });
  });

  test("dyestuff, constructed: batches more alike than their samples let them be give 0, not less", () => {
    const found = nestedVariance(together(published.dyestuff2.batches))!;
    expect(found.betweenRuns).toBe(0);
    within(found.betweenCycles, published.dyestuff2.within, 1e-6);
    expect(nestedVarianceInterval(together(published.dyestuff2.batches), 0.95)![0]).toBe(0);
  });

  test("mosquitoes: females within cages, and F of cages on the females' means, not on the measurements", () => {
    const { meanSquares, f } = published.aedes;
    const found = aedesFit();
    // printed to four digits after the point
    within(found.fit.betweenCycles ** 2, meanSquares.error, 1e-4);
    within(found.fit.betweenRuns ** 2, (meanSquares.females - meanSquares.error) / 2, 1e-4);
    within(found.square, meanSquares.cages, 1e-4);
    within(found.f, f, 5e-4);
  });

  test("Shrout and Fleiss: one-way intraclass correlation of one rating, and of the mean of four", () => {
    const { targets, single, average } = published.ratings;
    const { betweenRuns, betweenCycles } = nestedVariance(together(targets))!;
    within(intraclass(betweenRuns, betweenCycles), single, 1e-6);
    within(intraclass(betweenRuns, betweenCycles, 4), average, 1e-6);
  });

  test("GUM H.5: voltage from day to day, and the uncertainty of the mean that counts it", () => {
    const { mean, sd, observations, between, uncertainty } = published.voltage;
    const { betweenRuns, betweenCycles } = nestedVariance(
      mean.map((own, day) => ({
        group: "all",
        count: observations,
        mean: own,
        squares: (observations - 1) * sd[day]! ** 2,
      })),
    )!;
    // printed to the microvolt
    within(betweenRuns, between, 0.5e-6);
    within(Math.sqrt((betweenRuns ** 2 + betweenCycles ** 2 / observations) / 10), uncertainty, 0.5e-6);
  });

  test("Kish: ten to a cluster that correlate 0.3", () => {
    expect(designEffect(10, 0.3)).toBeCloseTo(3.7, 14);
  });
});

describe("exact arithmetic", () => {
  test("runs of equal length: the analysis of variance", () => {
    // means 2, 6 and 11, 13: sum of squares of the means 8 + 2 = 10 on 2; squares within 2 each, 8 on 4
    const found = nestedVariance([
      runSums("a", [1, 3]),
      runSums("a", [5, 7]),
      runSums("b", [10, 12]),
      runSums("b", [12, 14]),
    ])!;
    expect(found.betweenCycles ** 2).toBeCloseTo(2, 10);
    expect(found.betweenRuns ** 2).toBeCloseTo((2 * 5 - 2) / 2, 10);
    expect(found.groupMeans.get("a")).toBeCloseTo(4, 12);
    expect(found.groupMeans.get("b")).toBeCloseTo(12, 12);
  });

  test("shifted and scaled values shift and scale the answer; the order of runs does not matter", () => {
    const runs = drawRuns(seededRandom(3), [3, 2, 4], 0.7);
    const plain = nestedVariance(sumsOf(runs))!;
    const moved = nestedVariance(
      sumsOf(runs.map(({ group, cycles }) => ({ group, cycles: cycles.map((value) => 1e-3 * value + 0.2) })).reverse()),
    )!;
    expect(moved.betweenRuns * 1e3).toBeCloseTo(plain.betweenRuns, 10);
    expect(moved.betweenCycles * 1e3).toBeCloseTo(plain.betweenCycles, 10);
    expect(moved.groupMeans.get("g1")!).toBeCloseTo(1e-3 * plain.groupMeans.get("g1")! + 0.2, 12);
    const interval = nestedVarianceInterval(sumsOf(runs), 0.95)!;
    const reversed = nestedVarianceInterval(sumsOf(runs).reverse(), 0.95)!;
    expect(reversed[0]).toBeCloseTo(interval[0], 8);
    expect(reversed[1]).toBeCloseTo(interval[1], 8);
  });

  test("nothing to take apart: no run repeats another, no second cycle, or cycles all alike", () => {
    const none: RunSums[][] = [
      [],
      [runSums("a", [1, 2])],
      [runSums("a", [1, 2]), runSums("b", [3, 4])],
      [runSums("a", [1]), runSums("a", [2]), runSums("a", [4])],
      [runSums("a", [0.1, 0.1, 0.1]), runSums("a", [0.3, 0.3, 0.3])],
    ];
    for (const runs of none) {
      expect(nestedVariance(runs)).toBeNull();
      expect(nestedVarianceInterval(runs, 0.95)).toBeNull();
    }
    expect(() => runSums("a", [])).toThrow(/at least 1/);
    expect(() => runSums("a", [1, Number.NaN])).toThrow(/NaN at index 1/);
  });

  test("cycles that hardly differ: the interval is that of a standard deviation, by chi-squared", () => {
    const means = [1, 2, 4, 7, 11, 16];
    const runs = together(means.map((mean) => [mean - 1e-7, mean + 1e-7]));
    const centre = 41 / 6;
    const squares = means.reduce((sum, mean) => sum + (mean - centre) ** 2, 0);
    const [low, high] = nestedVarianceInterval(runs, 0.95)!;
    // chi-squared on 5: 12.8325 and 0.8312 (printed tables; memory)
    expect(low ** 2).toBeCloseTo(squares / 12.8325, 2);
    within(high ** 2, squares / 0.8312, 0.02);
  });

  test("cycles that hardly differ, and runs far apart: the variance of the means", () => {
    const means = [1, 2, 4, 7, 11, 16];
    const centre = 41 / 6;
    const variance = means.reduce((sum, mean) => sum + (mean - centre) ** 2, 0) / 5;
    for (const half of [1e-7, 1e-3]) {
      const { betweenRuns, betweenCycles } = nestedVariance(together(means.map((mean) => [mean - half, mean + half])))!;
      // MS within = 2 half^2; MS between = 2 variance
      expect(betweenRuns ** 2).toBeCloseTo(variance - half * half, 9);
      expect(betweenCycles / half).toBeCloseTo(Math.SQRT2, 6);
    }
    const [low, high] = nestedVarianceInterval(together(means.map((mean) => [1e6 * mean - 1, 1e6 * mean + 1])), 0.95)!;
    within((low / 1e6) ** 2, (5 * variance) / 12.8325, 0.001);
    within((high / 1e6) ** 2, (5 * variance) / 0.8312, 0.02);
  });

  test("where a rising function reaches a level", () => {
    expect(whereReached((x) => x * x, 2, { low: 0, high: 2, tolerance: 1e-13 })).toBeCloseTo(Math.SQRT2, 12);
    expect(whereReached((x) => (x - 1) ** 9, 0, { low: -1, high: 4, tolerance: 1e-12 })).toBeCloseTo(1, 2);
    expect(whereReached(Math.atan, 1.5, { low: -5, high: 1e4, tolerance: 1e-10 })).toBeCloseTo(Math.tan(1.5), 6);
    expect(whereReached((x) => x, 0, { low: -3, high: 3, tolerance: 1e-12 })).toBe(0);
  });

  test("runs far more alike than their cycles let them be have no interval", () => {
    const cycles = [-3, -1, 0, 1, 3];
    expect(nestedVariance(together([cycles, cycles, cycles, cycles]))!.betweenRuns).toBe(0);
    expect(nestedVarianceInterval(together([cycles, cycles, cycles, cycles]), 0.95)).toBeNull();
  });
});

describeWith(["lme4"], "components against R's lme4", () => {
  const layouts = [[3, 3], [2, 2, 2, 2], [3, 2, 1, 2], [6], [5, 5, 5, 5], [2, 1]];
  const cases = [0, 0.2, 0.6, 2].flatMap((between, k) =>
    layouts.map((layout, l) => drawRuns(seededRandom(100 * k + l), layout, between)),
  );

  test("lmer(y ~ 0 + g + (1 | run)) on runs of unlike length: both sds, criterion, group means; and the F of nested groups", () => {
    const fits = cases.map((runs) => {
      const values = runs.flatMap(({ cycles }) => cycles);
      const run = runs.flatMap(({ cycles }, i) => cycles.map(() => i));
      const group = runs.flatMap(({ cycles, group: own }) => cycles.map(() => Number(own.slice(1))));
      return `y <- ${rVector(values)}; run <- factor(${rVector(run)}); g <- factor(${rVector(group)})
        m <- if (nlevels(g) > 1) fit(y ~ 0 + g + (1 | run)) else fit(y ~ 1 + (1 | run))
        put(c(as.data.frame(VarCorr(m))$sdcor, REMLcrit(m), fixef(m)))`;
    });
    const expected = runR(`suppressMessages(library(lme4))
      put <- function(x) cat(format(x, digits = 17), "\\n")
      fit <- function(f) suppressMessages(lmer(f, REML = TRUE, control = lmerControl(optimizer = "nloptwrap",
        optCtrl = list(xtol_abs = 1e-12, ftol_abs = 1e-14, xtol_rel = 1e-12))))
      ${fits.join("\n")}
      suppressMessages(library(lmerTest))
      y <- ${rVector(published.aedes.cages.flat(2))}; cage <- factor(rep(1:3, each = 8)); female <- factor(rep(1:12, each = 2))
      a <- anova(lmerTest::lmer(y ~ cage + (1 | female)))
      put(c(a[["F value"]], a[["DenDF"]]))`);
    const [f, df] = expected.splice(-2) as [number, number];
    // F of cages on the denominator that the females' means give; lme4's default search
    const females = aedesFit();
    within(females.f, f, 1e-4);
    within(females.fit.degreesOfFreedom.runs, df, 1e-3);
    let at = 0;
    let boundaries = 0;
    for (const runs of cases) {
      const found: NestedVariance = nestedVariance(sumsOf(runs))!;
      const figures = [found.betweenRuns, found.betweenCycles, found.criterion, ...found.groupMeans.values()];
      for (const [k, figure] of figures.entries()) {
        const wanted = expected[at++]!;
        // lme4 searches by function values alone: half the digits, and at the boundary it stops short of 0
        within(figure, wanted, k === 0 ? 1e-5 * Math.max(wanted, 0.1) : 1e-5 * Math.abs(wanted));
      }
      if (found.betweenRuns === 0) boundaries++;
    }
    expect(at).toBe(expected.length);
    // the boundary was met, and not always
    expect(boundaries).toBeGreaterThan(2);
    expect(boundaries).toBeLessThan(cases.length / 2);
  });
});

describeWith(["r"], "interval of the sd between runs against R", () => {
  test("the distribution of the generalised pivot by R's integrate, its quantiles by uniroot", () => {
    const cases = [
      together(published.dyestuff.batches),
      sumsOf(drawRuns(seededRandom(21), [3, 2, 2, 2], 0.7)),
      sumsOf(drawRuns(seededRandom(22), [5, 4], 0.2)),
    ];
    const expected = runR(
      `${cases
        .map(
          (runs) => `n <- ${rVector(runs.map(({ count }) => count))}; m <- ${rVector(runs.map(({ mean }) => mean))}
          g <- factor(c(${runs.map(({ group }) => `"${group}"`).join(",")})); S <- sum(${rVector(runs.map(({ squares }) => squares))})
          C <- sum(n - 1); B <- length(n) - nlevels(g)
          Q <- function(t, s) { w <- 1 / (t + s / n); k <- tapply(w * m, g, sum) / tapply(w, g, sum); sum(w * (m - k[g])^2) }
          below <- function(t) integrate(Vectorize(function(u) pchisq(Q(t, S / u), B, lower.tail = FALSE) * dchisq(u, C)),
            qchisq(1e-9, C), qchisq(1 - 1e-9, C), rel.tol = 1e-5)$value
          end <- function(p) if (below(0) >= p) 0 else uniroot(function(t) below(t) - p, c(0, 1000 * S / C), tol = 1e-5 * S / C)$root
          cat(format(sqrt(c(end(0.025), end(0.975))), digits = 17), "\\n")`,
        )
        .join("\n")}`,
    );
    const found = cases.flatMap((runs) => nestedVarianceInterval(runs, 0.95)!);
    expect(found).toHaveLength(expected.length);
    // fifteen values of the variance between cycles instead of the integral: a part in a hundred of the sd between cycles
    for (const [k, end] of found.entries()) {
      const runs = cases[k >> 1]!;
      const scale = nestedVariance(runs)!;
      within(end, expected[k]!, 0.01 * Math.hypot(scale.betweenCycles, scale.betweenRuns));
    }
  });
});

/** Share of campaigns whose interval misses below and above. */
function missed(layout: readonly number[], between: number, campaigns: number, seed: number): [number, number] {
  const random = seededRandom(seed);
  let above = 0;
  let below = 0;
  for (let k = 0; k < campaigns; k++) {
    const interval = nestedVarianceInterval(sumsOf(drawRuns(random, layout, between)), 0.95) ?? [0, 0];
    if (between < interval[0]) above++;
    if (between > interval[1]) below++;
  }
  return [above / campaigns, below / campaigns];
}

const coverage = [
  [[3, 3], 0.3],
  [[2, 2, 2, 2], 0.7],
  [[6], 0.1],
  [[5, 5, 5, 5], 0.3],
  [[3, 2, 2, 2], 2],
] as const;

describe("simulated coverage of the interval of the sd between runs", () => {
  const campaigns = 1500;
  test.each(coverage)(
    "95 of 100 intervals hold it: groups of %j runs, between runs %d times between cycles",
    (layout, between) => {
      const [above, below] = missed(layout, between, campaigns, 41);
      // four standard errors of the count, and half a per cent for a method that is not exact
      within(above + below, 0.05, 4 * Math.sqrt((0.05 * 0.95) / campaigns) + 0.005);
    },
  );

  test("runs that do not differ: 0 is left out in 2.5 of 100", () => {
    const [above, below] = missed([2, 2, 2, 2], 0, campaigns, 42);
    expect(below).toBe(0);
    within(above, 0.025, 4 * Math.sqrt((0.025 * 0.975) / campaigns) + 0.005);
  });
});

describeWith(["slow"], "simulated coverage, full counts", () => {
  test.each(
    [[3, 3], [2, 2, 2, 2], [6], [3, 2, 2, 2], [5, 5, 5, 5]].flatMap((layout) =>
      [0.1, 0.3, 0.7, 2].map((between) => [layout, between] as const),
    ),
  )("groups of %j runs, between runs %d times between cycles", (layout, between) => {
    const [above, below] = missed(layout, between, 10_000, 43);
    // three standard errors either side of 2.5 per cent, and 0.3 for a method that is not exact
    const limit = 3 * Math.sqrt((0.025 * 0.975) / 10_000) + 0.003;
    within(above, 0.025, limit + 0.002);
    within(below, 0.025, limit + 0.002);
  });
});

describe("correlation of neighbouring cycles", () => {
  /** Stationary series of first order, a random level for each run. */
  function drawSeries(random: SeededRandom, rho: number, lengths: readonly number[]): number[][] {
    return lengths.map((length) => {
      const level = 3 * random.normal();
      let last = random.normal();
      return Array.from({ length }, () => {
        const value = level + last;
        last = rho * last + Math.sqrt(1 - rho * rho) * random.normal();
        return value;
      });
    });
  }

  test.each([-0.4, 0, 0.3, 0.6])("short runs of correlation %d give it without the bias of short series", (rho) => {
    const random = seededRandom(51);
    const campaigns = 600;
    let sum = 0;
    let squares = 0;
    for (let k = 0; k < campaigns; k++) {
      const series: (number | null)[][] = drawSeries(random, rho, [10, 12, 8, 9, 12, 10, 14, 11]);
      // a cycle without a value parts its neighbours
      series[1]![5] = null;
      const found = neighbourCorrelation(series, 10)!;
      sum += found;
      squares += found * found;
    }
    const mean = sum / campaigns;
    const error = Math.sqrt((squares / campaigns - mean * mean) / campaigns);
    // four standard errors of the simulation, and what is left of the bias; uncorrected it would be 0.1 to 0.17
    within(mean, rho, 4 * error + 0.015);
  });

  test("expected products and squares by exact arithmetic: white cycles of n seem to correlate -1/n", () => {
    // distances 1 1 -2: products 1 - 2 over squares 6; 1 -2 1: -4 over 6; one in three of the latter: -6/18, which is -1/3
    const runs = [
      [1, 1, -2],
      [-2, 1, 1],
      [1, -2, 1],
    ];
    expect(neighbourCorrelation([...runs, ...runs], 10)!).toBeCloseTo(0, 8);
  });

  test("drift from cycle to cycle gives 1, strict alternation -1; little or nothing gives null", () => {
    const drift = Array.from({ length: 12 }, (_, j) => j);
    const alternate = Array.from({ length: 12 }, (_, j) => (j % 2 === 0 ? 1 : -1));
    expect(neighbourCorrelation([drift, drift], 10)).toBeGreaterThan(0.95);
    expect(neighbourCorrelation([alternate, alternate], 10)).toBeLessThan(-0.95);
    expect(neighbourCorrelation([[1, 2, 4]], 10)).toBeNull();
    expect(neighbourCorrelation([Array.from({ length: 12 }, () => 0.1)], 10)).toBeNull();
    expect(neighbourCorrelation([drift.map((value, j) => (j % 2 === 0 ? value : null))], 1)).toBeNull();
    expect(neighbourCorrelation([[], [null, null]], 0)).toBeNull();
    expect(
      neighbourCorrelation(
        Array.from({ length: 20 }, () => [1, 2]),
        10,
      ),
    ).toBeNull();
  });
});
