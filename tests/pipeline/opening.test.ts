import { expect, test } from "vitest";
import { evaluateCampaign } from "../../src/pipeline/evaluateCampaign.ts";
import { openingText } from "../../src/words/findingWords.ts";
import { memoryWorld } from "../server/support.ts";

test("the first evaluation opens the campaign; what is changed after it is listed", async () => {
  const world = memoryWorld();
  const evaluate = async () => (await evaluateCampaign("campaign.yaml", { effects: world.effects.disk })).looks.opened!;
  const first = await evaluate();
  expect(first.changed).toEqual([]);
  expect(openingText(first)).toContain("The set-up was fixed, and no run excluded by hand, before the answer was seen");
  const manifest = world.files.get("campaign.yaml")!;
  world.write("campaign.yaml", manifest.replace(/^title: .*$/m, "title: other words"));
  expect(await evaluate()).toEqual(first);
  world.write("campaign.yaml", manifest.replace(/^primary:.*\n|^trajectories:/m, "primary: sd\ntrajectories:"));
  world.write("exclusions.yaml", 'exclusions: [{ run: run-2, reason: "arm jammed", at: 2026-05-04T09:00:00Z }]\n');
  expect((await evaluate()).changed).toEqual(["the measure", "excluded: run-2"]);
  world.write("campaign.yaml", `${manifest}family:\n  - { trajectory: orbit, subject: vehicle }\n`);
  expect((await evaluate()).changed).toEqual(["the family", "excluded: run-2"]);
});
