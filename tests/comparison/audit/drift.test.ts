import { expect, test } from "vitest";
import { auditCampaign } from "../../../src/comparison/audit/auditCampaign.ts";
import { differenceP, welchDifference } from "../../../src/comparison/estimateDifference.ts";
import { groupSums } from "../../../src/comparison/permutationSums.ts";
import type { AuditFinding } from "../../../src/contract/audit.ts";
import { defaultSettings } from "../../../src/contract/settings.ts";
import { type SeededRandom, seededRandom } from "../../../src/numeric/seededRandom.ts";
import { inventedCampaign } from "../../support/inventedCampaign.ts";
import { runsOf } from "../../support/runsOf.ts";
import { auditOf, findingsOf, flownRuns, letters } from "./auditedRuns.ts";

/** 2.6 standard errors of a share. */
const allowance = (share: number, trials: number): number => 2.6 * Math.sqrt((share * (1 - share)) / trials);

/** A day of 8 flights; every cell 5 mm with 0.4 mm between runs, growing by `slope` metres a flight. */
function day(order: string, slope: number, random: SeededRandom): AuditFinding[] {
  const runs = flownRuns(letters(order, (i) => ({ value: () => 0.005 + slope * i + 0.0004 * random.normal() })));
  return findingsOf(auditCampaign(inventedCampaign(runs), runs, [], { count: 1 }, defaultSettings), "drift-seen");
}

test("without a drift one is seen in at most 5 of 100 campaigns, over all cells together", () => {
  const random = seededRandom(51);
  const trials = 400;
  for (const order of ["ABBA BAAB", "AAAABBBB"]) {
    let seen = 0;
    for (let i = 0; i < trials; i++) seen += Number(day(order, 0, random).length > 0);
    expect(seen / trials, order).toBeLessThan(0.05 + allowance(0.05, trials));
  }
});

test("a drift that is plain to see is a doubt where the order lets it into the difference, else a note", () => {
  const random = seededRandom(52);
  // 0.6 mm a flight, six times what a run scatters over the day; AAAABBBB: 4 places, 2.4 mm of 1.5 mm that matter
  expect(day("AAAABBBB", 0.0006, random)[0]).toMatchObject({ severity: "doubt" });
  const [note] = day("ABBA BAAB", 0.0006, random);
  expect(note).toMatchObject({ severity: "note" });
  expect(note!.message).toContain("the order flown keeps it out of the difference (0.000 mm");
});

test("the difference without the drift is the cell's difference less what is faked", () => {
  // exact: 5 mm, 1 mm less with counterweights, 0.1 mm more with every flight; AAABBB: 3 places, -1 + 0.3 = -0.7 mm
  const exact = letters("AAABBB", (i) => ({ value: 0.005 - (i > 2 ? 0.001 : 0) + 0.0001 * i }));
  const { drift } = auditOf(flownRuns(exact)).order[0]!;
  expect(drift).toHaveLength(6);
  for (const { slope, faked, slope_ci95, p, slope_share } of drift) {
    expect(slope).toBeCloseTo(0.0001, 12);
    expect(faked).toBeCloseTo(0.0003, 12);
    expect([slope_ci95, p]).toEqual([null, null]);
    // mean of all six: 5 - 0.5 + 0.25 mm
    expect(slope_share).toBeCloseTo(0.1 / 4.75, 10);
  }
});

// trade practice, section 4.7: Welch at 3 v 3, then one run more of each up to 10 v 10: 14 % false alarms instead of 5 %
test("the example in the words on looks is right: 14 of 100", () => {
  const random = seededRandom(53);
  const trials = 4000;
  let alarms = 0;
  for (let i = 0; i < trials; i++) {
    const baseline = Array.from({ length: 10 }, () => random.normal());
    const candidate = Array.from({ length: 10 }, () => random.normal());
    for (let n = 3; n <= 10; n++) {
      if (differenceP(welchDifference(groupSums(runsOf(baseline.slice(0, n), candidate.slice(0, n))))!)! >= 0.05)
        continue;
      alarms++;
      break;
    }
  }
  // the figure is printed without decimals: half a unit more
  expect(Math.abs(alarms / trials - 0.14)).toBeLessThan(0.005 + allowance(0.14, trials));
});
