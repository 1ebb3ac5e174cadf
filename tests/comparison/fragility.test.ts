import { describe, expect, test } from "vitest";
import type { Verdict } from "../../src/catalogue/verdicts.ts";
import type { RunValues } from "../../src/comparison/cellRuns.ts";
import { compareCampaign } from "../../src/comparison/compareCampaign.ts";
import { estimateDifference } from "../../src/comparison/estimateDifference.ts";
import { type FragilityGrounds, fragility, leaveOneOut } from "../../src/comparison/fragility.ts";
import { type FamilyMember, holm, judgeFamily, testGroups, verdictOf } from "../../src/comparison/judgeFamily.ts";
import { groupSums } from "../../src/comparison/permutationSums.ts";
import type { Cell } from "../../src/contract/cell.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { leastSquares } from "../../src/numeric/leastSquares.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { inventedCampaign, inventedRuns } from "../support/inventedCampaign.ts";
import { blockedRunsOf, runsOf } from "../support/runsOf.ts";
import { simulatedFamily } from "./simulatedFamily.ts";

/** The runs but one, picked out one by one. */
function withoutRun(runs: RunValues, index: number): RunValues {
  const kept = [...runs.values.keys()].filter((i) => i !== index);
  return {
    ...runs,
    values: Float64Array.from(kept, (i) => runs.values[i]!),
    candidate: Uint8Array.from(kept, (i) => runs.candidate[i]!),
    block: Int32Array.from(kept, (i) => runs.block[i]!),
  };
}

const limits = { leastRuns: 3, familyError: 0.05, equivalenceError: 0.05 };

/** The cell of the vehicle along x; values in millimetres, the other five cells of the family without any effect. */
function cellOf(
  bare: readonly number[],
  weighted: readonly number[],
  put: { excluded?: number; margin?: number } = {},
): Cell {
  const side = (configuration: string, values: readonly number[]) =>
    values.map((value, i) => ({
      configuration,
      id: `${configuration}-${i + 1}`,
      value: ({ subject, axis }: { subject: string; axis: string }) =>
        subject === "vehicle" && axis === "x" ? value / 1000 : 0.005 + 0.0001 * (i % 3),
    }));
  const { excluded, margin = 0.5 } = put;
  const runs = inventedRuns([
    ...side("bare", bare),
    ...side("weighted", weighted),
    ...(excluded === undefined ? [] : [{ ...side("weighted", [excluded])[0]!, id: "left-out", exclude: "gust" }]),
  ]);
  const smallest = margin / 1000;
  const campaign = inventedCampaign(runs, {
    smallestDifference: { vehicle: smallest, effector: smallest, arm: null },
    exclude: { "left-out": "gust" },
  });
  return compareCampaign(campaign, runs, defaultSettings).find(
    ({ subject, axis }) => subject === "vehicle" && axis === "x",
  )!;
}

describe("steadier and less steady", () => {
  test("are firm where no single run and no other test shakes them", () => {
    const firm = cellOf([9, 9.2, 9.1, 9.3, 9.05], [5, 5.1, 5.2, 4.9, 5.05]);
    expect(firm).toMatchObject({ verdict: "steadier", fragile: [] });
    expect(cellOf([5, 5.1, 5.2, 4.9, 5.05], [9, 9.2, 9.1, 9.3, 9.05])).toMatchObject({
      verdict: "less steady",
      fragile: [],
    });
  });

  test("3 v 3 always is: without any one run there are too few, and the least permutation p is 0.1", () => {
    expect(cellOf([9, 9.1, 9.2], [5, 5.1, 5.2]).fragile).toEqual([
      'without any one of 6 runs (bare-1, bare-2, bare-3, weighted-1 ...) it would be "too few runs"',
      "the permutation p is 0.10, above 0.05: the verdict rests on the t distribution alone",
    ]);
  });

  test("3 v 5: only the three are missed", () => {
    const { fragile, verdict, p_permutation } = cellOf([9, 9.1, 9.2], [5, 5.1, 5.2, 5.05, 5.15]);
    expect(verdict).toBe("steadier");
    // 1 of the 56 ways to label: 0.018
    expect(p_permutation).toBeCloseTo(1 / 56, 12);
    expect(fragile).toEqual(['without any one of bare-1, bare-2 and bare-3 it would be "too few runs"']);
  });

  // R: 6 t.test(weighted, bare)$p.value, the other five cells of the family showing nothing (p = 1): 0.0196 with all runs;
  // without bare-1 0.0874, bare-3 0.0808, weighted-1 0.0580, weighted-2 0.0563; without any other 0.017 to 0.044
  test("runs that carry the difference are named, and they alone", () => {
    const cell = cellOf([6.9, 6.1, 6.6, 6.3, 7.3], [5.3, 5.2, 5.9, 5.0, 5.9]);
    expect(cell.verdict).toBe("steadier");
    expect(cell.p_family).toBeCloseTo(0.0196031, 7);
    // all of the candidate's below all of the baseline's: 2 of 252
    expect(cell.p_permutation).toBeCloseTo(2 / 252, 12);
    expect(cell.fragile).toEqual([
      'without any one of bare-1, bare-3, weighted-1 and weighted-2 it would be "within the noise"',
    ]);
  });
});

describe("no difference that matters", () => {
  test("is firm where the interval stays inside without any run", () => {
    expect(cellOf([5, 5.1, 4.9, 5.05], [5.02, 5.1, 4.95, 5])).toMatchObject({
      verdict: "no difference that matters",
      fragile: [],
    });
  });

  // R: t.test(weighted, bare, conf.level = 0.9): -0.123 to 0.273 mm with all runs; upper end 0.413, 0.394 and 0.367 without
  // weighted-1, -2 and -3, 0.152 without weighted-4, 0.239 to 0.306 without one of the baseline's
  test("hangs on the runs without which the 90 % interval leaves the smallest difference", () => {
    const cell = cellOf([5, 5.1, 4.9, 5], [5.0, 5.1, 4.9, 5.3], { margin: 0.35 });
    expect(cell.verdict).toBe("no difference that matters");
    expect(cell.fragile).toEqual([
      "without any one of weighted-1, weighted-2 and weighted-3 the 90 % interval leaves the smallest difference",
    ]);
    // without weighted-2 and -1 only: 0.38 mm
    expect(cellOf([5, 5.1, 4.9, 5], [5.0, 5.1, 4.9, 5.3], { margin: 0.38 }).fragile).toEqual([
      "without either of weighted-1 and weighted-2 the 90 % interval leaves the smallest difference",
    ]);
    expect(cellOf([5, 5.1, 4.9, 5], [5.0, 5.1, 4.9, 5.3], { margin: 0.4 }).fragile).toEqual([
      "without weighted-1 the 90 % interval leaves the smallest difference",
    ]);
    expect(cellOf([5, 5.1, 4.9, 5], [5.0, 5.1, 4.9, 5.3], { margin: 0.42 }).fragile).toEqual([]);
  });

  test("does not hang on the permutation p, which is high where nothing differs", () => {
    const cell = cellOf([5, 5.1, 4.9, 5.05], [5.02, 5.1, 4.95, 5]);
    expect(cell.p_permutation).toBeGreaterThan(0.05);
    expect(cell.fragile).toEqual([]);
  });
});

describe("runs that a person excluded", () => {
  test("make either claim fragile where putting them back changes it", () => {
    const back = (verdict: Verdict): string => `with the runs put back that a person excluded it would be "${verdict}"`;
    const steadier = cellOf([9, 9.2, 9.1, 9.3], [5, 5.1, 5.2, 4.9], { excluded: 30 });
    expect(steadier).toMatchObject({
      verdict: "steadier",
      verdict_all_runs: "within the noise",
      fragile: [back("within the noise")],
    });
    const alike = cellOf([5, 5.1, 4.9, 5.05], [5.02, 5.1, 4.95, 5], { excluded: 8 });
    expect(alike).toMatchObject({
      verdict: "no difference that matters",
      verdict_all_runs: "within the noise",
      fragile: [back("within the noise")],
    });
  });
});

describe("the verdicts that claim nothing", () => {
  const grounds: FragilityGrounds = {
    verdict: "within the noise",
    runs: ["a", "b"],
    withoutOne: [],
    permutationP: 0.9,
    verdictAllRuns: "steadier",
  };
  test("are never fragile", () => {
    for (const verdict of ["within the noise", "too few runs"] as const) {
      expect(fragility({ ...grounds, verdict }, { permutationLevel: 0.05, equivalenceError: 0.05 })).toEqual([]);
    }
    expect(cellOf([5, 6, 7, 8], [4, 6, 7, 9], { excluded: 0.1 })).toMatchObject({
      verdict: "within the noise",
      fragile: [],
    });
  });

  test("and a permutation p of exactly the level shakes no claim", () => {
    const at = (permutationP: number | null) =>
      fragility(
        { ...grounds, verdict: "steadier", verdictAllRuns: "steadier", permutationP },
        { permutationLevel: 0.05, equivalenceError: 0.05 },
      ).length;
    expect([at(0.05), at(0.0500001), at(null)]).toEqual([0, 1, 0]);
  });
});

describe("leaving one run out", () => {
  // fast code (group sums taken over) against the slow obvious way: the family judged again with the run removed
  test("gives what judging the family again without that run gives, with blocks and without", () => {
    const random = seededRandom(7);
    const layouts = [
      [[4, 4]],
      [[3, 5]],
      [
        [2, 2],
        [2, 2],
      ],
      [
        [2, 1],
        [1, 2],
        [2, 2],
      ],
      [
        [1, 1],
        [1, 1],
        [2, 2],
      ],
    ] as [number, number][][];
    for (const layout of layouts) {
      const settings = { layouts: [layout], variation: [0.2, 0.3], common: 0.5, blocks: 0.1 } as const;
      const family: FamilyMember[] = simulatedFamily(settings, random).map((member) => ({ ...member, margin: 0.3 }));
      const entered = judgeFamily(family, limits).map(({ test }) => test.pEntered);
      for (const [i, member] of family.entries()) {
        const others = Float64Array.from(entered.filter((_, j) => j !== i)).sort();
        for (const { index, test, pFamily, verdict } of leaveOneOut(member, others, limits)) {
          // the method and the kind of standard error are those of the whole cell
          const like = estimateDifference(member.runs);
          const slow = testGroups(groupSums(withoutRun(member.runs, index)), member, limits, like);
          const adjusted = holm(entered.map((p, j) => (j === i ? slow.pEntered : p)))[i]!;
          expect(verdict).toBe(verdictOf(slow, adjusted, limits));
          expect(test.runs).toEqual(slow.runs);
          // sums taken over differ from sums made again by rounding
          expect(pFamily).toBeCloseTo(adjusted, 10);
          expect(test.pEquivalence ?? -1).toBeCloseTo(slow.pEquivalence ?? -1, 10);
          expect(test.estimate?.method ?? like?.method).toBe(like?.method);
        }
      }
    }
  });

  // the same linear model by QR (numeric/leastSquares, checked against NIST and R): block and configuration as columns
  test("keeps the pooled spread of equal blocks: no run is blamed for a change of method", () => {
    const runs = blockedRunsOf([
      [
        [9, 9.4, 8.7],
        [7.1, 6.6, 7.4],
      ],
      [
        [10.2, 9.7],
        [8, 8.3],
      ],
    ]);
    for (const { index, test } of leaveOneOut({ runs, margin: null }, new Float64Array(0), limits)) {
      const kept = [...runs.values.keys()].filter((i) => i !== index);
      const column = (of: (i: number) => number): Float64Array => Float64Array.from(kept, of);
      const fit = leastSquares(
        [
          column((i) => Number(runs.block[i] === 0)),
          column((i) => Number(runs.block[i] === 1)),
          column((i) => runs.candidate[i]!),
        ],
        column((i) => runs.values[i]!),
      );
      expect(test.estimate).toMatchObject({ method: "blocked", error: "pooled", degreesOfFreedom: 6 });
      expect(test.estimate!.difference).toBeCloseTo(fit.coefficients[2]!, 10);
      expect(test.estimate!.standardError).toBeCloseTo(fit.standardErrors[2]!, 10);
    }
  });

  test("of the last run of a configuration leaves nothing to test", () => {
    const member = { runs: runsOf([1, 2, 3], [4]), margin: null };
    const [last] = leaveOneOut(member, new Float64Array(0), limits).slice(-1);
    expect(last).toMatchObject({
      index: 3,
      verdict: "too few runs",
      test: { runs: [3, 0], estimate: null, pEntered: 1 },
    });
    const blocks = {
      runs: blockedRunsOf([
        [[1, 2], [3]],
        [[2, 4], [6]],
      ]),
      margin: 1,
    };
    for (const { verdict } of leaveOneOut(blocks, new Float64Array(0), limits)) expect(verdict).toBe("too few runs");
  });
});
