import { describe, expect, test } from "vitest";
import { varianceComponents } from "../../src/comparison/varianceComponents.ts";
import type { RunEvaluation } from "../../src/contract/evaluation.ts";
import { componentsSchema } from "../../src/contract/reasons.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { type InventedRun, inventedCampaign, inventedRuns } from "../support/inventedCampaign.ts";

const run = (configuration: string, perCycle: readonly number[], changes: Partial<InventedRun> = {}): InventedRun => ({
  configuration,
  block: "day1",
  value: 0.004,
  perCycle,
  subjects: ["vehicle"],
  ...changes,
});

const of = (runs: readonly RunEvaluation[]): ReturnType<typeof varianceComponents> =>
  varianceComponents(inventedCampaign(runs), runs, defaultSettings);

/** Cycles 1 3, 5 7 with the arm alone, 10 12, 12 14 with counterweights, as in the test of the fit: se^2 2, sb^2 4. */
const small: InventedRun[] = [
  run("bare", [1, 3]),
  run("bare", [5, 7]),
  run("weighted", [10, 12]),
  run("weighted", [12, 14]),
];

describe("components of the variance of a campaign", () => {
  test("by exact arithmetic: components, correlation, design effect and the four standard errors", () => {
    const found = of(inventedRuns(small));
    expect(found.map(({ trajectory, subject, axis }) => `${trajectory} ${subject} ${axis}`)).toEqual([
      "orbit vehicle x",
      "orbit vehicle y",
      "orbit vehicle z",
    ]);
    const [first] = found;
    componentsSchema.parse(first);
    expect(first).toMatchObject({
      measure: "rms of a cycle",
      runs: 4,
      neighbour_correlation: null,
      helps: "more runs",
    });
    expect(first!.cycles).toBeCloseTo(2, 14);
    expect(first!.between_runs).toBeCloseTo(2, 9);
    expect(first!.between_cycles).toBeCloseTo(Math.SQRT2, 9);
    expect(first!.intraclass).toBeCloseTo(2 / 3, 9);
    expect(first!.design_effect).toBeCloseTo(5 / 3, 9);
    // two runs per configuration: (4 + 2/2)/2, a quarter more runs' worth with four, (4 + 2/4)/2 with twice the cycles
    expect(first!.standard_error.flown).toBeCloseTo(Math.sqrt(5 / 2), 9);
    expect(first!.standard_error.twice_runs).toBeCloseTo(Math.sqrt(5 / 4), 9);
    expect(first!.standard_error.twice_cycles).toBeCloseTo(Math.sqrt(4.5 / 2), 9);
    expect(first!.standard_error.endless_cycles).toBeCloseTo(Math.sqrt(2), 9);
  });

  test("what does not count: other configurations, unused runs, runs of one cycle, cycles without a value", () => {
    const more = inventedRuns([
      ...small,
      run("sham", [100, 900]),
      run("bare", [100, 900], { exclude: "gust" }),
      run("bare", [500]),
      run("weighted", [10, 12, 14]),
    ]);
    // of its three cycles the first has no value
    for (const axis of ["x", "y", "z"] as const) {
      const figures = more[7]!.tracking.cycles!.vehicle![axis];
      more[7]!.tracking.cycles!.vehicle![axis] = { ...figures, per_cycle: [null, 12, 14] };
    }
    const same = inventedRuns([...small, run("weighted", [12, 14])]);
    expect(of(more)).toEqual(of(same));
  });

  test("runs of different blocks do not repeat one another; without any that do there is no entry", () => {
    const apart = small.map((each, k) => ({ ...each, block: `day${k}` }));
    expect(of(inventedRuns(apart))).toEqual([]);
    expect(of(inventedRuns(small.map((each) => ({ ...each, perCycle: [0.004, 0.004] }))))).toEqual([]);
    expect(of([])).toEqual([]);
    const holds = inventedRuns(small).map((each) => ({ ...each, tracking: { ...each.tracking, cycles: null } }));
    expect(of(holds)).toEqual([]);
    // a shift of a whole block changes nothing
    const days = inventedRuns([...small, ...small.map((each) => ({ ...each, block: "day2" }))]);
    const shifted = inventedRuns([
      ...small,
      ...small.map((each) => ({ ...each, block: "day2", perCycle: each.perCycle!.map((value) => value + 50) })),
    ]);
    expect(of(shifted)[0]!.between_runs).toBeCloseTo(of(days)[0]!.between_runs, 9);
  });

  test("more cycles help where doubling them cuts the standard error by a tenth: sb^2 of 1.63 se^2/n does, of 1.64 does not", () => {
    // cut: (sb^2 + v/2)/(sb^2 + v) = 0.81 at sb^2 = (0.81 - 0.5)/0.19 v = 1.6316 v, v = se^2/n
    const helps = (ratio: number): string => {
      // cycles +-1: se^2 = 2, n = 2, v = 1; means +-d: sb^2 + v = 2 d^2
      const d = Math.sqrt((ratio + 1) / 2);
      const cycles = (centre: number): number[] => [centre - 1, centre + 1];
      return of(inventedRuns([-d, d].flatMap((mean) => [run("bare", cycles(mean)), run("weighted", cycles(mean))])))[0]!
        .helps;
    };
    expect(helps(1.63)).toBe("more runs or more cycles");
    expect(helps(1.64)).toBe("more runs");
  });
});

/** Variance of the mean of n cycles that correlate rho^k at k apart, each of variance 1. */
function ofMean(n: number, rho: number): number {
  let sum = 1;
  for (let k = 1; k < n; k++) sum += 2 * (1 - k / n) * rho ** k;
  return sum / n;
}

describe("simulated: cycles that are taken to be independent and are not", () => {
  const campaigns = 250;
  const between = 0.5;
  const n = 12;

  /** Mean over campaigns of the squared standard errors, four runs of 12 cycles per configuration. */
  function simulate(rho: number, seed: number): Record<"flown" | "twice_cycles" | "endless_cycles" | "error", number> {
    const random = seededRandom(seed);
    const sums = { flown: 0, twice_cycles: 0, endless_cycles: 0, error: 0 };
    let squares = 0;
    for (let k = 0; k < campaigns; k++) {
      const runs = inventedRuns(
        Array.from({ length: 8 }, (_, i) => {
          const level = 6 + between * random.normal();
          let last = random.normal();
          const cycles = Array.from({ length: n }, () => {
            const value = level + last;
            last = rho * last + Math.sqrt(1 - rho * rho) * random.normal();
            return value;
          });
          return run(i % 2 === 0 ? "bare" : "weighted", cycles);
        }),
      );
      const { standard_error: error } = of(runs)[0]!;
      for (const which of ["flown", "twice_cycles", "endless_cycles"] as const)
        sums[which] += error[which] ** 2 / campaigns;
      squares += error.flown ** 4 / campaigns;
    }
    return { ...sums, error: Math.sqrt((squares - sums.flown ** 2) / campaigns) };
  }
  const truth = (cycles: number, rho: number): number => (between ** 2 + ofMean(cycles, rho)) / 4;

  test("neighbours alike: right as flown, and more cycles are promised too little", () => {
    const found = simulate(0.5, 71);
    // four standard errors of the simulation; REML's bound at 0 adds little here
    expect(Math.abs(found.flown - truth(n, 0.5))).toBeLessThan(4 * found.error);
    // of the variance as flown, doubling the cycles would leave 0.78; 0.92 is promised, and 0.85 where cycles are endless, not 0.53
    expect(truth(2 * n, 0.5) / truth(n, 0.5)).toBeLessThan(0.79);
    expect(found.twice_cycles / found.flown).toBeGreaterThan(0.9);
    expect(between ** 2 / 4 / truth(n, 0.5)).toBeLessThan(0.54);
    expect(found.endless_cycles / found.flown).toBeGreaterThan(0.8);
  });

  test("independent cycles: right in all three", () => {
    const found = simulate(0, 72);
    // the same, and the bound at 0, which lifts the mean between runs by a little
    expect(Math.abs(found.flown - truth(n, 0))).toBeLessThan(4 * found.error);
    expect(Math.abs(found.twice_cycles - truth(2 * n, 0))).toBeLessThan(4 * found.error + 0.002);
    expect(Math.abs(found.endless_cycles - between ** 2 / 4)).toBeLessThan(4 * found.error + 0.002);
  });

  test("neighbours that alternate: right as flown, and more cycles are promised too much", () => {
    const found = simulate(-0.5, 73);
    expect(Math.abs(found.flown - truth(n, -0.5))).toBeLessThan(4 * found.error + 0.002);
    expect(found.endless_cycles).toBeLessThan(between ** 2 / 4);
  });
});
