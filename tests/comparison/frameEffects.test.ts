import { describe, expect, test } from "vitest";
import { compareCampaign } from "../../src/comparison/compareCampaign.ts";
import { frameEffects } from "../../src/comparison/frameEffects.ts";
import { frameExtremes, shiftedDifference, shiftedValue } from "../../src/comparison/frames/frameExtremes.ts";
import type { Campaign } from "../../src/contract/campaign.ts";
import type { RunEvaluation } from "../../src/contract/evaluation.ts";
import { type FrameEffect, frameEffectSchema } from "../../src/contract/reasons.ts";
import type { BudgetEvaluation } from "../../src/contract/runExtras.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { type InventedRun, inventedCampaign, inventedRuns } from "../support/inventedCampaign.ts";
import { extremeShift } from "./extremeShift.ts";

/** Samples of an effector's error along one axis, and its change per unit of each parameter. */
interface Samples {
  readonly error: readonly number[];
  readonly changes: readonly (readonly number[])[];
}

const mean = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;
const rms = (values: readonly number[]): number => Math.sqrt(mean(values.map((value) => value * value)));

function momentsOf({ error, changes }: Samples): { means: number[]; products: number[] } {
  const columns = [error, ...changes];
  return {
    means: columns.map(mean),
    products: columns.flatMap((a, k) => columns.slice(k).map((b) => mean(a.map((value, i) => value * b[i]!)))),
  };
}

const shiftedSamples = ({ error, changes }: Samples, shift: ArrayLike<number>): number[] =>
  error.map((value, i) => changes.reduce((sum, change, k) => sum + change[i]! * shift[k]!, value));

const toolPoint = ["tool_point.x", "tool_point.y", "tool_point.z"];

interface FrameRunWanted extends Omit<InventedRun, "value"> {
  readonly samples: Samples;
}

/** Runs whose effector has these samples along x (y and z never move); the vehicle's value is 4 mm and some. */
function framedRuns(wanted: readonly FrameRunWanted[], length = 0.003, parameters = toolPoint): RunEvaluation[] {
  const runs = inventedRuns(
    wanted.map((run, i) => ({
      ...run,
      value: ({ subject, axis }) =>
        subject === "effector" && axis === "x" ? rms(run.samples.error) : 0.004 + 1e-5 * ((7 * i) % 5),
    })),
  );
  return runs.map((run, i) => {
    const { samples } = wanted[i]!;
    const still: Samples = { error: samples.error, changes: samples.changes.map((own) => own.map(() => 0)) };
    const sensitivity = {
      uncertainty: { length, angle: 0.01 },
      parameters,
      x: momentsOf(samples),
      y: momentsOf(still),
      z: momentsOf(still),
    };
    const budget = { window: "cycles", samples: samples.error.length, sensitivity } as unknown as BudgetEvaluation;
    return { ...run, budget };
  });
}

/** A standing error b with +-a about it, and a tool point that moves it one to one along x alone. */
function standing(b: number, a: number): Samples {
  const n = 40;
  const error = Array.from({ length: n }, (_, i) => b + (i % 2 === 0 ? a : -a));
  return { error, changes: [error.map(() => 1), error.map(() => 0), error.map(() => 0)] };
}

function effectsOf(runs: readonly RunEvaluation[], changes: Partial<Campaign> = {}): FrameEffect[] {
  const campaign = inventedCampaign(runs, changes);
  return frameEffects(campaign, runs, compareCampaign(campaign, runs, defaultSettings), defaultSettings);
}

/** The cell along x as the comparison itself judges it once every run's value is another. */
function judgedWith(runs: readonly RunEvaluation[], value: (index: number) => number): FrameEffect["lowest"] {
  const moved = runs.map((run, i) => {
    const { effector, ...rest } = run.tracking.cycles!;
    return {
      ...run,
      tracking: {
        ...run.tracking,
        cycles: { ...rest, effector: { ...effector!, x: { ...effector!.x, rms: value(i) } } },
      },
    };
  });
  const cell = compareCampaign(inventedCampaign(moved), moved, defaultSettings).find(
    ({ in_family, subject, axis }) => in_family && subject === "effector" && axis === "x",
  )!;
  return { difference: cell.difference!, p_family: cell.p_family, verdict: cell.verdict! };
}

function expectJudged(found: FrameEffect["lowest"], wanted: FrameEffect["lowest"]): void {
  // roots of sums of forty products
  expect(found.difference).toBeCloseTo(wanted.difference, 12);
  expect(found.p_family!).toBeCloseTo(wanted.p_family!, 9);
  expect(found.verdict).toBe(wanted.verdict);
}

/** Standing errors of +3 mm with the arm alone and of -3 mm with counterweights, 4 mm and some about them: rms 5 mm both. */
const spread = [-0.0002, 0.0001, 0.0002, -0.0001];
const opposed: FrameRunWanted[] = spread.flatMap((more) => [
  { configuration: "bare", samples: standing(0.003, 0.004 + more) },
  { configuration: "weighted", samples: standing(-0.003, 0.004 + more) },
]);

describe("effect of the frames on a difference, by exact arithmetic", () => {
  const runs = framedRuns(opposed);
  const [effect] = effectsOf(runs);
  /** rms of each run with the tool point s further along x */
  const shifted = (s: number) => (index: number) =>
    Math.hypot((index % 2 === 0 ? 0.003 : -0.003) + s, 0.004 + spread[index >> 1]!);

  test("alike as measured, steadier and less steady with the tool point 3 mm off to either side", () => {
    frameEffectSchema.parse(effect);
    expect(effect).toMatchObject({
      trajectory: "orbit",
      axis: "x",
      metric: "rms",
      verdict: "no difference that matters",
    });
    expect(effect!.uncertainty).toEqual({ length: 0.003, angle: 0.01 });
    // roots of (3 + 3)^2 + a^2, against a: about sqrt 52 - 4 = 3.21 mm; the slope at 0 would give 3.6
    const wanted = mean([0, 1, 2, 3].map((k) => shifted(0.003)(2 * k) - shifted(0.003)(2 * k + 1)));
    expect(wanted).toBeCloseTo(Math.sqrt(52e-6) - 0.004, 5);
    expect(effect!.worst).toBeCloseTo(wanted, 12);
    expect(effect!.quadrature).toBeCloseTo(wanted, 12);
    expect(effect!.largest.parameter).toBe("tool_point.x");
    expect(Math.abs(effect!.largest.change)).toBeCloseTo(wanted, 12);
    expectJudged(effect!.lowest, judgedWith(runs, shifted(0.003)));
    expectJudged(effect!.highest, judgedWith(runs, shifted(-0.003)));
    expect(effect!.lowest.verdict).toBe("steadier");
    expect(effect!.highest.verdict).toBe("less steady");
  });

  test("axes that no parameter moves stay as they are", () => {
    for (const still of effectsOf(runs).slice(1)) {
      expect(still.worst).toBe(0);
      expect(still.quadrature).toBe(0);
      expect(still.lowest.verdict).toBe(still.verdict);
      expect(still.highest).toEqual(still.lowest);
    }
  });

  test("what both configurations have in common cancels; the same offset without bias moves nothing to first order, and does", () => {
    const alike = spread.flatMap((more): FrameRunWanted[] => [
      { configuration: "bare", samples: standing(0.003, 0.004 + more) },
      { configuration: "weighted", samples: standing(0.003, 0.004 + more) },
    ]);
    expect(effectsOf(framedRuns(alike))[0]!.worst).toBeLessThan(1e-15);
    // no bias: rms 3 and 6 mm become roots of 9 + 9 and 36 + 9, which is 0.53 mm nearer to one another
    const unbiased = spread.flatMap((more): FrameRunWanted[] => [
      { configuration: "bare", samples: standing(0, 0.003 + more) },
      { configuration: "weighted", samples: standing(0, 0.006 + more) },
    ]);
    const [found] = effectsOf(framedRuns(unbiased));
    const wanted = mean(spread.map((more) => Math.hypot(0.003, 0.006 + more) - Math.hypot(0.003, 0.003 + more)));
    expect(found!.lowest.difference).toBeCloseTo(wanted, 12);
    expect(found!.highest.difference).toBeCloseTo(0.003, 12);
    expect(found!.worst).toBeCloseTo(0.003 - wanted, 12);
  });

  test("sd: a shift of all samples alike moves none", () => {
    const [found] = effectsOf(framedRuns(opposed), { primary: "sd" });
    expect(found!.metric).toBe("sd");
    expect(found!.worst).toBeLessThan(1e-12);
  });

  test("within blocks of unequal counts the difference moves as the cell takes it", () => {
    const blocked: FrameRunWanted[] = [
      ...opposed.slice(0, 5).map((run) => ({ ...run, block: "day1" })),
      ...opposed.slice(5).map((run) => ({ ...run, block: "day2" })),
    ];
    const unequal = framedRuns(blocked);
    const [found] = effectsOf(unequal);
    expectJudged(found!.lowest, judgedWith(unequal, shifted(0.003)));
    expectJudged(found!.highest, judgedWith(unequal, shifted(-0.003)));
  });

  test("a run of each: the plain difference moves, the verdict stays", () => {
    const [found] = effectsOf(framedRuns(opposed.slice(0, 2)));
    expect(found!.verdict).toBe("too few runs");
    expect(found!.lowest).toMatchObject({ p_family: 1, verdict: "too few runs" });
    expect(found!.lowest.difference).toBeCloseTo(shifted(0.003)(1) - shifted(0.003)(0), 12);
    // two against one: that of the means
    const [uneven] = effectsOf(framedRuns(opposed.slice(0, 3)));
    const bare = (shifted(0.003)(0) + shifted(0.003)(2)) / 2;
    expect(uneven!.lowest.difference).toBeCloseTo(shifted(0.003)(1) - bare, 12);
  });

  test("left out: a run without a budget, of another window, of other parameters; other metrics; no effector", () => {
    const changed = (change: (budget: BudgetEvaluation) => BudgetEvaluation | null): RunEvaluation[] =>
      runs.map((run, i) => (i === 3 ? { ...run, budget: change(run.budget!) } : run));
    expect(effectsOf(changed(() => null))).toEqual([]);
    expect(effectsOf(changed((budget) => ({ ...budget, window: "hold" })))).toEqual([]);
    expect(
      effectsOf(
        changed((budget) => ({
          ...budget,
          sensitivity: { ...budget.sensitivity, uncertainty: { length: 0.1, angle: 0 } },
        })),
      ),
    ).toEqual([]);
    expect(
      effectsOf(
        changed((budget) => ({ ...budget, sensitivity: { ...budget.sensitivity, parameters: ["a", "b", "c"] } })),
      ),
    ).toEqual([]);
    expect(effectsOf(runs, { primary: "range" })).toEqual([]);
    expect(effectsOf(runs, { signals: {} })).toEqual([]);
    expect(effectsOf([])).toEqual([]);
    // an unused run without a budget is no matter
    const unused = inventedRuns([{ id: "lost", configuration: "bare", value: 0.02, exclude: "gust" }]);
    expect(effectsOf([...runs, ...unused])).toHaveLength(3);
  });
});

/** Nine parameters as an arm has them, by and large: shifts that turn with the attitude, and turns about a lever of 0.3 m. */
function inventedSamples(seed: number, bias: number): Samples {
  const random = seededRandom(seed);
  const n = 60;
  const tilt = Array.from({ length: n }, () => 0.05 * random.normal());
  const level = [1, 0.1, 0.05, -1, -0.1, -0.05, 0.02, -0.3, 0.1];
  return {
    error: Array.from({ length: n }, () => bias + 0.003 * random.normal()),
    changes: level.map((own) => tilt.map((turn) => own + turn * random.normal())),
  };
}

describe("where a difference is least and greatest within the box", () => {
  const cases = [1, 2, 3, 4, 5, 6].map((seed) => {
    const random = seededRandom(100 + seed);
    const samples = Array.from({ length: 8 }, (_, i) => inventedSamples(10 * seed + i, 0.004 * random.normal()));
    const forms = samples.map((own) => {
      const { products } = momentsOf(own);
      const form = new Float64Array(100);
      for (let a = 0, at = 0; a < 10; a++)
        for (let b = a; b < 10; b++, at++) {
          form[10 * a + b] = products[at]!;
          form[10 * b + a] = products[at]!;
        }
      return form;
    });
    const weights = samples.map((_, i) => (i % 2 === 0 ? -0.25 : 0.25));
    const limits = [0.005, 0.005, 0.005, 0.005, 0.005, 0.005, 0.0175, 0.0175, 0.0175];
    return { samples, shifted: { limits, weights, forms }, random };
  });

  test("the form gives the rms of the samples themselves, shifted one by one", () => {
    for (const { samples, shifted, random } of cases) {
      const shift = shifted.limits.map((limit) => limit * (2 * random.uniform() - 1));
      for (const [i, own] of samples.entries()) {
        expect(shiftedValue(shifted.forms[i]!, shift)).toBeCloseTo(rms(shiftedSamples(own, shift)), 13);
      }
    }
  });

  test("no point of the box is beyond the extremes: 4000 at random each, and those of a search without shortcuts", () => {
    for (const { shifted, random } of cases) {
      const value = (shift: ArrayLike<number>): number => shiftedDifference(shifted, shift);
      const { lowest, highest } = frameExtremes(shifted);
      for (const extreme of [lowest, highest]) {
        for (const [k, limit] of shifted.limits.entries()) {
          expect(Math.abs(extreme[k]!)).toBeLessThanOrEqual(limit * (1 + 1e-12));
        }
      }
      const slow = extremeShift(shifted.limits, value);
      const points = Array.from({ length: 4000 }, () =>
        shifted.limits.map((limit) => limit * (2 * random.uniform() - 1)),
      );
      // a micrometre, against extremes of millimetres: a search along one parameter at a time may stop just short
      expect(value(highest) + 1e-6).toBeGreaterThan(Math.max(value(slow.highest), ...points.map(value)));
      expect(value(lowest) - 1e-6).toBeLessThan(Math.min(value(slow.lowest), ...points.map(value)));
    }
  });
});
