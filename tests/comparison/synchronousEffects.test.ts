import { expect, test } from "vitest";
import { synchronousEffects } from "../../src/comparison/synchronousEffects.ts";
import type { RunEvaluation, SplitFigures } from "../../src/contract/evaluation.ts";
import { synchronousEffectSchema } from "../../src/contract/reasons.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { inventedCampaign } from "../support/inventedCampaign.ts";
import { inventedRun } from "../support/inventedEvaluation.ts";

type Vectors = (k: number) => readonly [number, number];

function splitOf(vectors: Vectors): SplitFigures {
  return {
    harmonics: [1, 2].map((k) => {
      const [cos, sin] = vectors(k);
      const amplitude = Math.hypot(cos, sin);
      return { k, amplitude, amplitude_se: null, phase: Math.atan2(-sin, cos), phase_se: null, cos, sin, cov: null };
    }),
    rms: 0.001,
    remaining_rms: 0.001,
  };
}

function runWith(id: string, configuration: string, block: string, vectors: Vectors): RunEvaluation {
  const split = splitOf(vectors);
  return inventedRun({ id, configuration, block, synchronous: { vehicle: { x: split, y: split, z: split } } });
}

const campaign = inventedCampaign([]);

/** Two blocks of 3 + 2 and 2 + 3; the second block stands elsewhere. */
function flown(turn = 0): RunEvaluation[] {
  const random = seededRandom(12);
  const at = (candidate: boolean, block: number): Vectors => {
    const [x, y] = [(candidate ? 0.001 : 0.003) + 0.001 * block, 0.0005 * block];
    const noise = [1, 2].map(() => [1e-4 * random.normal(), 1e-4 * random.normal()] as const);
    return (k) => {
      const [c, s] = [x / k + noise[k - 1]![0], y / k + noise[k - 1]![1]];
      // the phase counted from another place of the cycle
      const [u, v] = [Math.cos(k * turn), Math.sin(k * turn)];
      return [c * u - s * v, c * v + s * u];
    };
  };
  return [0, 1].flatMap((block) => [
    ...Array.from({ length: 3 - block }, (_, i) =>
      runWith(`b${block}${i}`, campaign.baseline, `day${block}`, at(false, block)),
    ),
    ...Array.from({ length: 2 + block }, (_, i) =>
      runWith(`c${block}${i}`, campaign.candidate, `day${block}`, at(true, block)),
    ),
  ]);
}

const effects = (runs: readonly RunEvaluation[]) => synchronousEffects(campaign, runs, defaultSettings);

test("every axis and harmonic that the runs have is compared, in order, and fits the contract", () => {
  const found = effects(flown());
  expect(found.map(({ subject, axis, k }) => `${subject} ${axis} ${k}`)).toEqual(
    ["x", "y", "z"].flatMap((axis) => [1, 2].map((k) => `vehicle ${axis} ${k}`)),
  );
  for (const one of found) {
    expect(() => synchronousEffectSchema.parse(one)).not.toThrow();
    expect(one.method).toBe("blocked");
    // 5 choose 2 in either block
    expect(one.permutation).toMatchObject({ arrangements: 100, exact: true, p_least: 0.01 });
    expect(one.baseline.runs).toEqual(["b00", "b01", "b02", "b10", "b11"]);
  }
});

test("the difference is the one within blocks: what days share does not enter", () => {
  const [first] = effects(flown());
  // candidate less baseline is -2 mm in either block; the runs scatter by 0.1 mm, five of each
  expect(first!.difference.cos).toBeCloseTo(-0.002, 3);
  expect(Math.abs(first!.difference.cos + 0.002)).toBeLessThan(4 * 1e-4 * Math.sqrt(2 / 4.8));
  expect(first!.candidate.cos - first!.baseline.cos).toBeCloseTo(first!.difference.cos, 15);
  expect(first!.candidate.sin - first!.baseline.sin).toBeCloseTo(first!.difference.sin, 15);
  expect(first!.hotelling!.p).toBeLessThan(1e-4);
  // lengths: mean over blocks 3.5 v 1.5 mm along cos, 0.25 mm along sin
  expect(first!.ratio).toBeCloseTo(Math.hypot(1.5, 0.25) / Math.hypot(3.5, 0.25), 1);
  expect(first!.ratio_ci95![1]!).toBeLessThan(0.5);
});

test("where the cycle is counted from changes neither T2, p nor the ratio", () => {
  const [before, after] = [effects(flown()), effects(flown(0.9))];
  for (const [i, one] of before.entries()) {
    expect(after[i]!.hotelling!.t2).toBeCloseTo(one.hotelling!.t2, 6);
    expect(after[i]!.permutation!.p).toBe(one.permutation!.p);
    expect(after[i]!.ratio).toBeCloseTo(one.ratio!, 12);
    expect(after[i]!.ratio_ci95![0]).toBeCloseTo(one.ratio_ci95![0], 5);
  }
});

test("runs that are not used, of other configurations or without the harmonic do not enter", () => {
  const runs = flown();
  const extra = [
    { ...runs[0]!, id: "unused", used: false },
    { ...runs[0]!, id: "other", configuration: "ballast" },
    { ...runs[0]!, id: "without", synchronous: null },
  ];
  expect(effects([...runs, ...extra])).toEqual(effects(runs));
});

test("one run of each has a ratio without an interval, and no test; one configuration alone has no entry", () => {
  const runs = flown();
  const pair = [runs[0]!, runs.find(({ configuration }) => configuration === campaign.candidate)!];
  const [one] = effects(pair);
  expect(one).toMatchObject({ method: "whole", hotelling: null, permutation: null, ratio_ci95: null });
  expect(one!.ratio).toBeGreaterThan(0);
  expect(effects([runs[0]!, runs[1]!])).toEqual([]);
});
