import { describe, expect, test } from "vitest";
import { describeWith } from "../../support/available.ts";
import { type Campaign, type Finding, judgeRow, properOf } from "./judgeRow.ts";
import { notYetRight } from "./notYetRight.ts";
import { outcomesOf } from "./outcome.ts";
import { effects } from "./soundCampaign.ts";
import { wrongSetUps } from "./table.ts";
import { trialNames, trueDifferences } from "./trueDifferences.ts";

/**
 * Whatever a lab gets wrong, no number of it is wrong in silence: the verdict is right, or it says that it is doubted, or the
 * set-up is refused. See `outcome.ts` for what is right.
 */
export function judgeGroup(group: keyof typeof wrongSetUps): void {
  bySeeds((campaigns) => {
    for (const row of wrongSetUps[group]) {
      const judge = notYetRight.has(row.name) ? test.fails : test;
      judge(row.name, { timeout: 600_000 }, async () => {
        const findings = await judgeRow(row, campaigns);
        expectFew(findings, campaigns, row.exchanged ? claimsByChance(campaigns) : 0);
      });
    }
  });
}

/** The same campaigns set up as they should be: else a program that doubts everything would pass. */
export function judgeProper(): void {
  bySeeds((campaigns) => {
    test.for(trialNames)("set up as it should be, %s is right, undoubted, and shows what there is", async (trial) => {
      const findings: Finding[] = [];
      for (const [seed, effect] of campaigns) {
        const { judged } = await properOf(trial, seed, effect);
        const outcomes = outcomesOf(judged, trueDifferences(trial, effect), null);
        findings.push(...outcomes.map((outcome) => ({ ...outcome, seed, effect })));
        const family = judged.cells.filter(({ in_family }) => in_family);
        const verdicts = family.map(({ verdict }) => verdict as string);
        expect(verdicts, `seed ${seed}`).not.toContain("doubted");
        // else a program that never claims anything would pass
        if (effect === "known" && !trial.startsWith("logged ")) expect(verdicts, `seed ${seed}`).toContain("steadier");
        expect(judged.runs.every(({ used }) => used)).toBe(true);
      }
      expectFew(findings, campaigns, claimsByChance(campaigns));
    });
  });
}

const few: readonly Campaign[] = [
  [1, "known"],
  [2, "none"],
];
const all: readonly Campaign[] = Array.from({ length: 20 }, (_, i) => i + 1).flatMap((seed) =>
  effects.map((effect) => [seed, effect] as const),
);

function bySeeds(suite: (campaigns: readonly Campaign[]) => void): void {
  describe("one campaign with an effect and one with none", () => suite(few));
  describeWith(["slow"], "20 seeds, each with an effect and with none", () => suite(all));
}

/** A family claims by chance in 1 of 20 campaigns without an effect (its error is 5 %): more than 3 of 20 is likelier a fault. */
const claimsByChance = (campaigns: readonly Campaign[]): number => Math.floor((3 / 20) * (campaigns.length / 2));

/** No verdict against the truth, but for so many campaigns without an effect `byChance`; of 20 intervals of a cell at most 3 that miss it: a sound one does in 1 of 20. */
function expectFew(findings: readonly Finding[], campaigns: readonly Campaign[], byChance = 0): void {
  const said = (found: readonly Finding[]): string[] =>
    found.map((one) => `seed ${one.seed}, ${one.effect}, ${one.cell}: ${one.said}`);
  const wrong = findings.filter(({ outcome }) => outcome === "wrong");
  const chance = wrong.filter(({ effect }) => effect === "none");
  if (wrong.length > chance.length || new Set(chance.map(({ seed }) => seed)).size > byChance)
    expect(said(wrong)).toEqual([]);
  const missed = findings.filter(({ outcome }) => outcome === "missed");
  for (const { cell, effect } of missed) {
    const same = missed.filter((one) => one.cell === cell && one.effect === effect);
    const flown = campaigns.filter((campaign) => campaign[1] === effect).length;
    expect(same.length, said(same).join("\n")).toBeLessThanOrEqual((3 / 20) * flown);
  }
}
