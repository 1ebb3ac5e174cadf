import { beforeAll, describe, expect, test } from "vitest";
import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import { describeWith } from "../support/available.ts";
import { loggedTrial } from "./wrongSetUps/loggedTrial.ts";
import { notYetRight } from "./wrongSetUps/notYetRight.ts";
import { evaluateSetUp, outcomesOf } from "./wrongSetUps/outcome.ts";
import type { WrongSetUp } from "./wrongSetUps/setUpTable.ts";
import { type Effect, effects, type Step, soundCampaign } from "./wrongSetUps/soundCampaign.ts";
import { wrongSetUps } from "./wrongSetUps/table.ts";
import { type Trial, type TrueDifferences, trials, trueDifferences } from "./wrongSetUps/trueDifferences.ts";

/**
 * Whatever a lab gets wrong, no number of it is wrong in silence: the verdict is right, or it says that it is doubted, or the
 * set-up is refused. See `outcome.ts` for what is right.
 */

type Campaign = readonly [seed: number, effect: Effect];
const few: readonly Campaign[] = [
  [1, "known"],
  [2, "none"],
];
const all: readonly Campaign[] = Array.from({ length: 20 }, (_, i) => i + 1).flatMap((seed) =>
  effects.map((effect) => [seed, effect] as const),
);

const done = (steps: readonly Step[], [seed, effect]: Campaign) =>
  steps.reduce((setUp, step) => step(setUp), soundCampaign(seed, effect));

const truths = new Map<string, TrueDifferences>();
const proper = new Map<string, CampaignEvaluation>();

function judgeAll(campaigns: readonly Campaign[], pairs: number): void {
  beforeAll(async () => {
    for (const trial of trials) {
      for (const effect of effects) truths.set(`${trial} ${effect}`, trueDifferences(trial, effect, pairs));
      for (const campaign of campaigns) {
        const evaluation = await evaluateSetUp(done(trial === "logged" ? loggedTrial : [], campaign));
        if (typeof evaluation === "string") throw new Error(evaluation);
        proper.set(`${trial} ${campaign.join(" ")}`, evaluation);
      }
    }
  }, 600_000);

  test.for(trials)("set up as it should be, the %s campaign is right, undoubted, and shows what there is", (trial) => {
    const wrong = campaigns.flatMap((campaign) =>
      wrongOf(trial, campaign, proper.get(`${trial} ${campaign.join(" ")}`)!),
    );
    expectFew(wrong, campaigns);
    for (const [seed, effect] of campaigns) {
      const { cells, runs } = proper.get(`${trial} ${seed} ${effect}`)!;
      const verdicts = cells.filter(({ in_family }) => in_family).map(({ verdict }) => verdict as string);
      expect(verdicts, `seed ${seed}`).not.toContain("doubted");
      // else a program that never claims anything would pass
      if (effect === "known") expect(verdicts, `seed ${seed}`).toContain("steadier");
      expect(runs.every(({ used }) => used)).toBe(true);
    }
  });

  for (const [group, rows] of Object.entries(wrongSetUps))
    describe(group, () => {
      for (const row of rows) {
        const judge = notYetRight.has(row.name) ? test.fails : test;
        judge(row.name, { timeout: 600_000 }, async () => judgeRow(row, campaigns));
      }
    });
}

async function judgeRow({ trial, steps }: WrongSetUp, campaigns: readonly Campaign[]): Promise<void> {
  const wrong: Wrong[] = [];
  for (const campaign of campaigns) {
    const evaluation = await evaluateSetUp(done(steps, campaign));
    if (typeof evaluation !== "string") wrong.push(...wrongOf(trial, campaign, evaluation));
  }
  expectFew(wrong, campaigns);
}

interface Wrong {
  readonly cell: string;
  readonly effect: Effect;
  readonly outcome: string;
  readonly said: string;
}

function wrongOf(trial: Trial, [seed, effect]: Campaign, evaluation: CampaignEvaluation): Wrong[] {
  const same = proper.get(`${trial} ${seed} ${effect}`)!;
  return outcomesOf(evaluation, truths.get(`${trial} ${effect}`)!, same === evaluation ? null : same)
    .filter(({ outcome }) => outcome === "wrong" || outcome === "missed")
    .map(({ cell, outcome, said }) => ({ cell, effect, outcome, said: `seed ${seed}, ${effect}, ${cell}: ${said}` }));
}

/** No verdict against the truth; of 20 intervals of a cell at most 3 that miss it: a sound one does in 1 of 20. */
function expectFew(found: readonly Wrong[], campaigns: readonly Campaign[]): void {
  expect(found.filter(({ outcome }) => outcome === "wrong").map(({ said }) => said)).toEqual([]);
  for (const effect of effects) {
    const flown = campaigns.filter((campaign) => campaign[1] === effect).length;
    for (const cell of new Set(found.map(({ cell }) => cell))) {
      const missed = found.filter((one) => one.cell === cell && one.effect === effect);
      expect(missed.length, missed.map(({ said }) => said).join("\n")).toBeLessThanOrEqual((3 / 20) * flown);
    }
  }
}

describe("wrong set-ups, one campaign with an effect and one with none", () => judgeAll(few, 16));
describeWith(["slow"], "wrong set-ups, 20 campaigns with an effect and 20 with none", () => judgeAll(all, 100));
