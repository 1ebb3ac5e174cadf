import { describe, expect, test } from "vitest";
import { campaignView } from "../../server/answers/campaignView.ts";
import { campaignCosts } from "../../src/comparison/costs/campaignCosts.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { costsTable } from "../../src/report/paper/csvTables.ts";
import { inventedCampaign } from "../support/inventedCampaign.ts";
import { inventedEvaluation } from "../support/inventedEvaluation.ts";

const { runs } = inventedEvaluation();
const known = inventedCampaign(runs, {
  vehicle: { mass: 4.6, maxThrust: 92, rotors: null, rotorDiameter: null },
  configurations: {
    bare: { label: "Arm alone", addedMass: null, counterweights: [] },
    weighted: { label: "Counterweights fitted", addedMass: 0.54, counterweights: [] },
  },
});
const costs = campaignCosts(known, runs, defaultSettings);
const head = "configuration,figure,value (SI),95 % interval from,95 % interval to,range from,range to,source";

describe("costs as the service answers them", () => {
  const viewOf = (campaign: typeof known, evaluation: ReturnType<typeof inventedEvaluation>) =>
    campaignView({ campaign, evaluation } as Parameters<typeof campaignView>[0], "campaign.yaml");

  test("a campaign of which nothing is known has no page of them and no sentence; its table is a heading", () => {
    const evaluation = inventedEvaluation();
    expect(viewOf(inventedCampaign(runs), evaluation).costs).toBeNull();
    expect(costsTable(evaluation)).toBe(`${head}\n`);
  });

  test("one that declares a thrust has both; the table has SI, ranges and sources", () => {
    const evaluation = inventedEvaluation({ costs });
    expect(viewOf(known, evaluation).costs).toContain("thrust to weight is 1.83 instead of 2.04 (declared thrust)");
    const [first, ...rows] = costsTable(evaluation).trim().split("\n");
    expect(first).toBe(head);
    // 5.14 kg, twice 0.5 % of 4.6 and of 0.54 kg about it
    const mass = rows.find((row) => row.startsWith("weighted,take-off mass,"))!.split(",");
    expect(Number(mass[2])).toBeCloseTo(5.14, 12);
    expect(Number(mass[5])).toBeCloseTo(5.14 - 2 * Math.hypot(0.023, 0.0027), 12);
    expect(mass.at(-1)).toBe("declared");
  });
});
