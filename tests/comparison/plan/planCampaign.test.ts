import { expect, test } from "vitest";
import { compareCampaign } from "../../../src/comparison/compareCampaign.ts";
import { planCampaign } from "../../../src/comparison/plan/planCampaign.ts";
import type { Campaign } from "../../../src/contract/campaign.ts";
import type { RunEvaluation } from "../../../src/contract/evaluation.ts";
import { type Plan, planSchema } from "../../../src/contract/plan.ts";
import { defaultSettings as settings } from "../../../src/contract/settings.ts";
import { seededRandom } from "../../../src/numeric/seededRandom.ts";
import { inventedCampaign, inventedRuns } from "../../support/inventedCampaign.ts";

/** `n` runs of each configuration over two days, means apart by `difference`. */
function flown(n: number, { difference = 0, sd = 0.001, days = 2, seed = 3 } = {}): RunEvaluation[] {
  const random = seededRandom(seed);
  return inventedRuns(
    Array.from({ length: 2 * n }, (_, i) => ({
      configuration: i % 2 === 0 ? "bare" : "weighted",
      block: `day${(Math.floor(i / 2) % days) + 1}`,
      value: () => 0.01 + (i % 2) * difference + sd * random.normal(),
    })),
  );
}
function planOf(runs: RunEvaluation[], changes: Partial<Campaign> = {}, wish = {}): Plan {
  const campaign = inventedCampaign(runs, changes);
  const plan = planCampaign(campaign, runs, compareCampaign(campaign, runs, settings), settings, wish);
  expect(planSchema.parse(plan)).toEqual(plan);
  return plan;
}
const undeclared = { smallestDifference: { vehicle: null, effector: null, arm: null } };

test("cells carry the runs needed that the comparison tells, and forecasts that scale with the spread", () => {
  const runs = flown(5);
  const campaign = inventedCampaign(runs);
  const cells = compareCampaign(campaign, runs, settings);
  const plan = planOf(runs);
  expect(plan.cells).toHaveLength(6);
  expect(plan.level).toBe(0.05 / 6);
  expect(plan.assumed).toEqual([]);
  for (const cell of plan.cells) {
    const judged = cells.find((c) => c.in_family && c.subject === cell.subject && c.axis === cell.axis)!;
    expect(cell.runs_for_difference).toEqual(judged.runs_needed);
    expect(cell.verdict).toBe(judged.verdict);
    expect(cell.half_width.high / cell.half_width.middle).toBeCloseTo(cell.detectable.high / cell.detectable.middle, 9);
    expect(cell.half_width.low).toBeLessThan(cell.half_width.middle);
  }
});

test("the default suffices in every open cell; a wish is followed", () => {
  const plan = planOf(flown(5, { sd: 0.0005 }));
  const needs = plan.cells
    .filter(({ verdict }) => verdict === "within the noise" || verdict === "too few runs")
    .map((cell) => Math.min(cell.runs_for_difference!.middle, cell.runs_for_equivalence!.middle));
  expect(needs.length).toBeGreaterThan(0);
  // 2 + 2 in two blocks give 0.0556 at least, 3 + 2 give 2/120 (trade practice, 4.3)
  expect(plan.runs_per_configuration).toBe(Math.min(5 + 12, Math.max(5, ...needs)));
  // five are flown: the rest is to be flown, two at least
  expect(plan).toMatchObject({ flown: 5, runs_to_fly: Math.max(2, plan.runs_per_configuration - 5) });
  expect(planOf(flown(5), {}, { runsToFly: 7, blocks: 3 })).toMatchObject({
    runs_per_configuration: 12,
    runs_to_fly: 7,
    blocks: 3,
  });
  expect(() => planOf(flown(5), {}, { runsToFly: 2, blocks: 3 })).toThrow(/at most as many blocks/);
});

test("the cap binds and says what would be needed", () => {
  const plan = planOf(flown(5, { sd: 0.003 }));
  expect(plan).toMatchObject({ runs_per_configuration: 17, flown: 5, runs_to_fly: 12 });
  expect(plan.because).toMatch(/would need .* a plan adds at most 12/);
});

test("where everything is decided the plan is a repetition", () => {
  const plan = planOf(flown(8, { difference: -0.006, sd: 0.0003 }));
  expect(plan.cells.every(({ verdict }) => verdict === "steadier")).toBe(true);
  expect(plan).toMatchObject({ runs_per_configuration: 8, runs_to_fly: 8, flown: 8 });
  expect(plan.because).toContain("a repetition");
});

test("without runs that repeat one another spreads are assumed, never invented for a cell", () => {
  const lone = planOf(flown(1, { days: 1 }));
  expect(lone.cells).toEqual([]);
  expect(lone.assumed.map(({ sd }) => sd / 0.0015)).toEqual([0.25, 0.5, 1, 2, 4].map((x) => expect.closeTo(x, 9)));
  // margin of one sd at level 0.05: 18 (trade practice, 4.5)
  expect(lone.assumed[2]!.runs_for_equivalence).toEqual({ low: 18, middle: 18, high: 18 });
  const shares = planOf(flown(1, { days: 1, sd: 0 }), undeclared);
  expect(shares.assumed.map(({ sd }) => sd / 0.01)).toEqual([0.05, 0.1, 0.2, 0.3].map((x) => expect.closeTo(x, 9)));
  expect(shares.assumed[0]!.runs_for_difference).toBeNull();
  const nothing = planOf([], undeclared);
  expect(nothing.assumed).toEqual([]);
  expect(nothing.because).toContain("neither a smallest difference nor a run is there");
});

test("forecasts rest on the runs, not on what the cells say of themselves", () => {
  const runs = flown(4, { sd: 0.0008 });
  const campaign = inventedCampaign(runs);
  const told = planOf(runs);
  const untold = planCampaign(campaign, runs, [], settings);
  expect(untold.cells.map((cell) => ({ ...cell, verdict: null }))).toEqual(
    told.cells.map((cell) => ({ ...cell, verdict: null })),
  );
});

test("runs that were not used enter nothing", () => {
  const runs = flown(4);
  const wild = inventedRuns([{ configuration: "bare", block: "day1", value: 9, outcome: "aborted", id: "wild" }]);
  expect(planOf([...runs, ...wild]).cells).toEqual(planOf(runs).cells);
});

test("only the cells without a spread of their own are assumed; those of another trajectory keep theirs", () => {
  const runs = flown(4);
  const orbit = inventedCampaign(runs).trajectories.orbit!;
  const plan = planOf(runs, { trajectories: { orbit, reach: orbit } });
  expect(new Set(plan.cells.map(({ trajectory }) => trajectory))).toEqual(new Set(["orbit"]));
  expect(plan.family).toBe(12);
  expect(plan.assumed).toHaveLength(5);
  expect(plan.because).toContain("of 6 more open cells the spread is not known yet");
});

test("the smallest difference that is least serves for the assumed spreads; without one, parts of the mean flown", () => {
  const changes = { smallestDifference: { vehicle: 0.003, effector: 0.002, arm: 0.001 } };
  const [first] = planOf(flown(1, { days: 1 }), changes).assumed;
  // the arm is not of the family
  expect(first).toMatchObject({ sd: 0.0005, smallest_difference: 0.002 });
});

test("a repetition may be larger than what a plan would propose, while a day holds it", () => {
  const runs = flown(15, { difference: -0.006, sd: 0.0003 });
  expect(planOf(runs)).toMatchObject({ runs_per_configuration: 15, blocks: 2 });
});

test("blocks: as many as were flown, at least 2, at most the runs; fewer runs than blocks are raised", () => {
  expect(planOf(flown(8, { days: 4, sd: 0.0003 }))).toMatchObject({ blocks: 4 });
  expect(planOf(flown(4, { days: 1, sd: 0.0003 }))).toMatchObject({ blocks: 2 });
  expect(planOf([], {}, { blocks: 7 })).toMatchObject({ blocks: 7, runs_per_configuration: 7 });
  // 3 runs in 3 blocks give 0.25, 4 give 0.083, 5 (2 + 2 + 1) give 2/72
  expect(planOf([], {}, { blocks: 3 })).toMatchObject({ blocks: 3, runs_per_configuration: 5 });
  // one block: 4 v 4 give 0.0286 (trade practice, 4.3)
  expect(planOf([], {}, { blocks: 1 })).toMatchObject({ blocks: 1, runs_per_configuration: 4 });
});

test.each([
  [{ runsToFly: 1 }, "found 1 runs per configuration, expected a whole number of at least 2"],
  [{ runsToFly: 2.5 }, "found 2.5 runs per configuration"],
  [{ blocks: 0 }, "found 0 blocks, expected a whole number of at least 1"],
])("a wish that is none is refused: %o", (wish, message) => {
  expect(() => planOf(flown(4), {}, wish)).toThrow(message);
  expect(() => planOf(flown(4), {}, wish)).toThrow(expect.objectContaining({ code: "not-a-plan" }));
});

test("2 runs, hundreds of runs and spreads out of all proportion still give finite numbers", () => {
  for (const sd of [1e-9, 1e-4, 1, 1e6]) {
    for (const runsToFly of [2, 12, 250]) {
      const plan = planOf(flown(2, { days: 1, sd }), {}, { runsToFly, blocks: 1 });
      expect(plan.cells).toHaveLength(6);
      // low is below middle, middle below high, whatever the spread
      for (const { half_width, detectable, runs_for_difference } of plan.cells) {
        for (const { low, middle, high } of [half_width, detectable]) {
          expect(0 < low && low < middle && middle < high && high < Number.POSITIVE_INFINITY).toBe(true);
        }
        expect(runs_for_difference!.high).toBeLessThanOrEqual(Number.MAX_SAFE_INTEGER);
      }
    }
  }
});

test("one trajectory alone is planned for by its own cells, at the level of the whole family", () => {
  const trajectories = {
    orbit: { shape: "circle", plane: "yz", radius: 0.06, speed: 0.25, period: 1.5, cycles: 12 },
    reach: { shape: "line", axis: "x", stroke: 0.15, period: 1.9, cycles: 10 },
  } as const;
  const orbit = flown(5, { sd: 0.0003 });
  const reach = flown(5, { sd: 0.001, seed: 8 }).map((run) => ({ ...run, id: `reach-${run.id}`, trajectory: "reach" }));
  const runs = [...orbit, ...reach];
  const [both, quiet, loud] = [{}, { trajectories: ["orbit"] }, { trajectories: ["reach"] }].map((wish) =>
    planOf(runs, { trajectories }, wish),
  );
  expect(new Set(quiet!.cells.map(({ trajectory }) => trajectory))).toEqual(new Set(["orbit"]));
  expect([quiet!.level, loud!.level]).toEqual([both!.level, both!.level]);
  // what all fly together is what the noisier one asks for; the quiet one needs fewer
  expect(loud!.runs_per_configuration).toBe(both!.runs_per_configuration);
  expect(quiet!.runs_per_configuration).toBeLessThan(both!.runs_per_configuration);
});
