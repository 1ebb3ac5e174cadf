import { describe, expect, test } from "vitest";
import { compareCampaign, compareContrasts } from "../../src/comparison/compareCampaign.ts";
import { type FamilyMember, judgeFamily } from "../../src/comparison/judgeFamily.ts";
import { planCampaign } from "../../src/comparison/plan/planCampaign.ts";
import { contrastsOf } from "../../src/contract/campaignParts.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { describeWith } from "../support/available.ts";
import { inventedCampaign, inventedRuns } from "../support/inventedCampaign.ts";
import { runR, rVector } from "../support/run.ts";
import { runsOf } from "../support/runsOf.ts";

/** Five runs of each; `weighted` takes 6 mm off along y of the effector, `battery` nothing. Spread 0.8 mm. */
const random = seededRandom(18);
const runs = inventedRuns(
  (["bare", "weighted", "battery"] as const).flatMap((configuration) =>
    Array.from({ length: 5 }, () => ({
      configuration,
      value: ({ subject, axis }: { subject: string; axis: string }) =>
        0.001 *
        (20 + 0.8 * random.normal() - (configuration === "weighted" && subject === "effector" && axis === "y" ? 6 : 0)),
    })),
  ),
);
const several = inventedCampaign(runs, {
  furtherContrasts: [
    { candidate: "battery", baseline: "bare" },
    { candidate: "battery", baseline: "weighted" },
  ],
});
const pairs = contrastsOf(several).map((campaign) => ({ campaign, runs, earlier: [] }));
const found = compareContrasts(pairs, defaultSettings);
const family = found.map((cells) => cells.filter((cell) => cell.in_family));

describe("several pairs of configurations", () => {
  test("are told apart: the one with an effect is steadier, the one without is not, and the last is less steady than the first", () => {
    const at = family.map((cells) => cells.find(({ subject, axis }) => subject === "effector" && axis === "y")!);
    expect(at.map(({ verdict }) => verdict)).toEqual([
      "steadier",
      expect.stringMatching(/noise|no difference/),
      "less steady",
    ]);
    const others = family.flat().filter((cell) => !at.includes(cell));
    expect(others.filter(({ verdict }) => verdict === "steadier" || verdict === "less steady")).toEqual([]);
  });

  test("differ from each pair by itself in nothing but what the family moves", () => {
    for (const [k, cells] of found.entries()) {
      const { furtherContrasts: _, ...alone } = pairs[k]!.campaign;
      const own = compareCampaign(alone, runs, defaultSettings);
      expect(cells.map(({ difference, ci95, p, p_permutation }) => [difference, ci95, p, p_permutation])).toEqual(
        own.map(({ difference, ci95, p, p_permutation }) => [difference, ci95, p, p_permutation]),
      );
      for (const [i, cell] of cells.entries())
        if (cell.in_family) expect(cell.p_family!).toBeGreaterThanOrEqual(own[i]!.p_family!);
    }
  });

  test("share the smallest p's factor: Holm's is cells times pairs (exact)", () => {
    const least = family.flat().reduce((a, b) => (a.p! <= b.p! ? a : b));
    expect(least.p_family! / least.p!).toBeCloseTo(18, 10);
  });

  test("raise the runs that the plan asks for, as the level is shared by all of them", () => {
    const cells = compareCampaign(several, runs, defaultSettings);
    const [together, alone] = [several, inventedCampaign(runs)].map((campaign) =>
      planCampaign(campaign, runs, cells, defaultSettings),
    );
    expect([together!.family, alone!.family]).toEqual([18, 6]);
    expect(together!.level).toBeCloseTo(alone!.level / 3, 15);
    const [own, single] = [found[0]!, cells].map((each) => each.find(({ in_family }) => in_family)!);
    expect(own!.runs_needed!.middle).toBeGreaterThanOrEqual(single!.runs_needed!.middle);
  });
});

describeWith(["r"], "Holm over cells and pairs", () => {
  test("is R's p.adjust of all p's together", () => {
    const p = family.flat().map((cell) => cell.p!);
    const expected = runR(`cat(format(p.adjust(${rVector(p)}, "holm"), digits = 17, scientific = TRUE), "\\n")`);
    expect(expected).toHaveLength(18);
    for (const [i, cell] of family.flat().entries()) expect(cell.p_family!).toBeCloseTo(expected[i]!, 12);
  });
});

/**
 * Three candidates that do nothing, each against the baseline and the second against the first, in families of six cells: what any
 * of the 24 claims is a false one. 5 % and three standard deviations of the count.
 */
test("a family of three candidates without effect holds a false claim in at most 5 of 100", () => {
  const families = process.env.COUNTERPOISE_SLOW === "1" ? 20_000 : 2000;
  const draw = seededRandom(20_018);
  const limits = { leastRuns: 3, familyError: 0.05, equivalenceError: 0.05 };
  let claimed = 0;
  for (let i = 0; i < families; i++) {
    const spread = 0.1 + 0.2 * draw.uniform();
    const common = 0.8 * draw.uniform();
    const count = 3 + Math.floor(6 * draw.uniform());
    const sigma = Math.sqrt(Math.log(1 + spread * spread));
    // configuration, run, cell: cells of a run have a part in common
    const values = Array.from({ length: 4 }, () =>
      Array.from({ length: count }, () => {
        const shared = Math.sqrt(common) * draw.normal();
        return Array.from({ length: 6 }, () =>
          Math.exp(sigma * (shared + Math.sqrt(1 - common) * draw.normal() - sigma / 2)),
        );
      }),
    );
    const members = (
      [
        [1, 0],
        [2, 0],
        [3, 0],
        [2, 1],
      ] as const
    ).flatMap(([candidate, baseline]) =>
      Array.from(
        { length: 6 },
        (_, cell): FamilyMember => ({
          runs: runsOf(
            values[baseline]!.map((own) => own[cell]!),
            values[candidate]!.map((own) => own[cell]!),
          ),
          margin: null,
        }),
      ),
    );
    const verdicts = judgeFamily(members, limits).map(({ verdict }) => verdict);
    if (verdicts.includes("steadier") || verdicts.includes("less steady")) claimed++;
  }
  expect(claimed / families).toBeLessThan(0.05 + 3 * Math.sqrt((0.05 * 0.95) / families));
  expect(claimed / families).toBeGreaterThan(0.005);
});
