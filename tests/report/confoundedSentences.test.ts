import { expect, test } from "vitest";
import { confoundedTrajectories, describeConfounding } from "../../src/comparison/confoundedTrajectories.ts";
import type { RunEvaluation } from "../../src/contract/evaluation.ts";
import { confoundedSentences } from "../../src/report/smallestText.ts";
import { inventedCampaign, inventedRuns } from "../support/inventedCampaign.ts";
import { inventedFamily } from "../support/inventedEvaluation.ts";

/** What is said of runs flown in these blocks (baseline's, candidate's), with the check that the comparison itself raises. */
function said(baseline: readonly (string | null)[], candidate: readonly (string | null)[]): string[] {
  const run = (configuration: string) => (block: string | null) => ({ configuration, block, value: 0.004 });
  const runs = inventedRuns([...baseline.map(run("bare")), ...candidate.map(run("weighted"))]);
  const campaign = inventedCampaign(runs);
  const [confounded] = confoundedTrajectories(campaign, runs);
  const checks = confounded === undefined ? [] : [describeConfounding(campaign, confounded)];
  return confoundedSentences(
    runs.map((each) => ({ ...each, checks: checks as RunEvaluation["checks"] })),
    inventedFamily(["orbit"]),
  );
}

test("the answer's warning follows the check that the comparison raises", () => {
  const partly =
    "in orbit, and runs of other blocks enter the difference: what differs there, or does not, may in part be the days' doing.";
  expect(said(["day1", "day1"], ["day2", "day2"])).toEqual([
    "The configurations were flown in separate blocks in orbit: what differs there, or does not, may be the days' doing, not the configuration's.",
  ]);
  expect(said(["day1", "day2"], ["day1", "day3"])).toEqual([`Only block day1 holds both configurations ${partly}`]);
  expect(said([null, "day2"], [null])).toEqual([`Only the runs without a block are of both configurations ${partly}`]);
  // two blocks that hold both are compared within; a single block without others is no confounding
  expect(said(["day1", "day2"], ["day1", "day2", "day3"])).toEqual([]);
  expect(said(["day1", "day1"], ["day1"])).toEqual([]);
});
