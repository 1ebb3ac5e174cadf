import { describe, expect, test } from "vitest";
import { compareCampaign } from "../../src/comparison/compareCampaign.ts";
import { constantFindings } from "../../src/comparison/constantFindings.ts";
import type { Cell } from "../../src/contract/cell.ts";
import type { RunEvaluation } from "../../src/contract/evaluation.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { normalColumn } from "../numeric/randomColumns.ts";
import { inventedCampaign, inventedRuns } from "../support/inventedCampaign.ts";

// Runs drawn with a known bias and a known spread about it (rms^2 = bias^2 + spread^2): what the cells must say follows from
// the spreads alone, since the offsets put upon them are no steadiness.

interface Drawn {
  /** metres: what is added to the mean error of a run */
  readonly offset?: (run: { candidate: boolean; day: number }) => number;
  /** metres; of either configuration */
  readonly spread: readonly [number, number];
  /** metres; from run to run, of the bias and of the spread */
  readonly wander?: number;
  readonly scatter?: number;
  readonly runs?: number;
}

/** Runs of both configurations, half on each of two days; the vehicle along x carries the draw, the rest stands at 10 mm. */
function drawnRuns(
  { offset = () => 0, spread, wander = 1e-3, scatter = 3e-4, runs = 6 }: Drawn,
  seed: number,
): RunEvaluation[] {
  const draws = normalColumn(seed, 4 * runs);
  const flown = Array.from({ length: 2 * runs }, (_, i) => ({ candidate: i % 2 === 1, day: i < runs ? 0 : 1 }));
  return inventedRuns(
    flown.map(({ candidate, day }) => ({
      configuration: candidate ? "weighted" : "bare",
      block: `day${day + 1}`,
      value: 0.01,
    })),
  ).map((run, i) => {
    const bias = offset(flown[i]!) + wander * draws[2 * i]!;
    const sd = spread[flown[i]!.candidate ? 1 : 0]! + scatter * draws[2 * i + 1]!;
    const cycles = run.tracking.cycles!;
    const vehicle = { ...cycles.vehicle!, x: { ...cycles.vehicle!.x, bias, sd, rms: Math.hypot(bias, sd) } };
    return { ...run, tracking: { ...run.tracking, cycles: { ...cycles, vehicle } } };
  });
}

function judged(drawn: Drawn, seed = 1): { cell: Cell; codes: string[] } {
  const runs = drawnRuns(drawn, seed);
  const campaign = inventedCampaign(runs);
  const cells = compareCampaign(campaign, runs, defaultSettings);
  const cell = cells.find(({ in_family, subject, axis }) => in_family && subject === "vehicle" && axis === "x")!;
  const checks = constantFindings(campaign, runs, defaultSettings).get("run-1") ?? [];
  return { cell, codes: checks.map(({ severity }) => severity) };
}

describe("a constant offset", () => {
  test("that all runs share drowns what the spread does, and is said to", () => {
    const { cell, codes } = judged({ spread: [0.01, 0.006], offset: () => 0.06 });
    // 60 mm of sqrt(60^2 + 8.2^2): 0.98 of the mean square
    expect(cell.constant!.share).toBeGreaterThan(0.96);
    expect(cell.constant!.common).toBeCloseTo(0.06, 2);
    expect(cell.constant!.sd!.difference).toBeCloseTo(-0.004, 3);
    expect(cell.constant!.role).toBe("drowns");
    expect(codes).toEqual(["doubt"]);
  });

  test("in the candidate's runs alone explains the difference", () => {
    const { cell, codes } = judged({ spread: [0.007, 0.007], offset: ({ candidate }) => (candidate ? 0.009 : 0) });
    expect(cell).toMatchObject({ verdict: "less steady", constant: { role: "explains" } });
    expect(cell.constant!.step).toBeCloseTo(0.009, 2);
    expect(cell.fragile.join()).toContain("the difference is one of constant offset, not of steadiness");
    expect(codes).toEqual(["doubt"]);
  });

  test("hides a difference of the spread that matters", () => {
    // sqrt(10^2) and sqrt(8^2 + 6^2) mm: the rms is the same
    const { cell, codes } = judged({
      spread: [0.01, 0.006],
      wander: 2e-4,
      offset: ({ candidate }) => (candidate ? 0.008 : 0),
    });
    expect(cell).toMatchObject({ verdict: "no difference that matters", constant: { role: "hides" } });
    expect(codes).toEqual(["doubt"]);
  });

  test("that steps from day to day is seen, though its mean over all runs is nothing", () => {
    const { cell } = judged({ spread: [0.008, 0.005], offset: ({ day }) => (day === 0 ? -0.0135 : 0.0135) });
    expect(cell.constant!.share).toBeGreaterThan(0.7);
    expect(cell.constant!.block_step).toBeGreaterThan(0.024);
    expect(Math.abs(cell.constant!.common)).toBeLessThan(0.002);
  });

  test("beside a difference that the spread confirms is said, and makes it fragile, no more", () => {
    const { cell, codes } = judged({
      spread: [0.008, 0.006],
      wander: 5e-4,
      offset: ({ candidate }) => (candidate ? 0 : 0.007),
    });
    expect(cell).toMatchObject({ verdict: "steadier", constant: { role: "adds" } });
    expect(cell.fragile.join()).toContain("most of the difference is one of constant offset");
    expect(codes).toEqual([]);
  });

  test("of millimetres is not confirmed by a spread that differs by a hair, however clearly", () => {
    const { cell, codes } = judged({
      spread: [0.004, 0.0043],
      scatter: 5e-5,
      wander: 5e-4,
      offset: ({ candidate }) => (candidate ? 0.005 : 0),
    });
    expect(cell.constant!.sd!.p).toBeLessThan(1e-3);
    expect(cell).toMatchObject({ verdict: "less steady", constant: { role: "explains" } });
    expect(codes).toEqual(["doubt"]);
  });

  test("that carries little, and yet keeps most of what the spread does from the rms, is doubted", () => {
    // sqrt(13^2) against sqrt(9.5^2 + 8^2) mm: 0.6 mm less, where the spread has 3.5 mm less
    const { cell, codes } = judged({
      spread: [0.013, 0.0095],
      scatter: 1e-4,
      wander: 1e-4,
      offset: ({ candidate }) => (candidate ? 0.008 : 0),
    });
    expect(cell.constant!.share).toBeLessThan(0.5);
    expect(cell.constant!.sd!.difference).toBeCloseTo(-0.0035, 3);
    expect(cell.difference).toBeCloseTo(-0.0006, 3);
    expect(cell.constant!.role).toBe("hides");
    expect(codes).toEqual(["doubt"]);
  });

  test("that is small beside the spread changes nothing", () => {
    const { cell, codes } = judged({ spread: [0.01, 0.006], wander: 5e-4, offset: () => 0.003 });
    expect(cell).toMatchObject({ verdict: "steadier", constant: { role: null } });
    expect(codes).toEqual([]);
  });

  test("where sd is the primary measure nothing is said: it knows of no offset", () => {
    const runs = drawnRuns({ spread: [0.01, 0.006], offset: () => 0.06 }, 1);
    const campaign = inventedCampaign(runs, { primary: "sd" });
    expect(constantFindings(campaign, runs, defaultSettings).size).toBe(0);
    const cells = compareCampaign(campaign, runs, defaultSettings).filter(({ in_family }) => in_family);
    expect(cells.find(({ subject, axis }) => subject === "vehicle" && axis === "x")).toMatchObject({
      verdict: "steadier",
      constant: null,
    });
  });
});

// 300 campaigns without any offset, with a bias that wanders from run to run by as much as the spread. The F test lets 1 in 100
// through, of which few carry half of the mean square besides; 8 of 300 is three standard errors above that 1 in 100.
test("a bias that wanders from run to run is no offset", () => {
  let doubted = 0;
  for (let seed = 1; seed <= 300; seed++) {
    const drawn = { spread: [0.004, 0.003], wander: 3e-3, runs: seed % 2 === 0 ? 4 : 6 } as const;
    const runs = drawnRuns(drawn, seed);
    const checks = constantFindings(inventedCampaign(runs), runs, defaultSettings).get("run-1") ?? [];
    if (checks.some(({ severity }) => severity === "doubt")) doubted++;
  }
  expect(doubted).toBeLessThan(8);
});

test("an offset along one axis leaves another in doubt that it moves by more than matters, however unsure that is by itself", () => {
  // a body that was defined 30 mm further forward, on a vehicle that stands some degrees askew: 6 mm of it lie along y
  const along = (x: number) => {
    const sideways = drawnRuns(
      { spread: [0.003, 0.003], wander: 3e-3, offset: ({ candidate }) => (candidate ? 0.006 : 0) },
      5,
    );
    const runs = drawnRuns({ spread: [0.004, 0.004], offset: ({ candidate }) => (candidate ? x : 0) }, 4).map(
      (run, i) => {
        const cycles = run.tracking.cycles!;
        const vehicle = { ...cycles.vehicle!, y: sideways[i]!.tracking.cycles!.vehicle!.x };
        return { ...run, tracking: { ...run.tracking, cycles: { ...cycles, vehicle } } };
      },
    );
    const checks = constantFindings(inventedCampaign(runs), runs, defaultSettings).get("run-1") ?? [];
    return checks.filter(({ severity }) => severity === "doubt").flatMap(({ touches }) => touches!.axes ?? []);
  };
  expect(along(0.03)).toEqual(["x", "y"]);
  expect(along(0)).toEqual([]);
});
