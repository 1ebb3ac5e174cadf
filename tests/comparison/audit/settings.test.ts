import { expect, test } from "vitest";
import { auditCampaign } from "../../../src/comparison/audit/auditCampaign.ts";
import { auditSchema } from "../../../src/contract/audit.ts";
import type { Campaign } from "../../../src/contract/campaign.ts";
import { defaultSettings, settingsFor } from "../../../src/contract/settings.ts";
import { inventedCampaign } from "../../support/inventedCampaign.ts";
import { findingsOf, flownRuns, letters } from "./auditedRuns.ts";

/** ABBA in two blocks, with the settings that `of` gives to each run of a configuration. */
function audited(of: (configuration: string, place: number) => Readonly<Record<string, number>>) {
  const runs = flownRuns(letters("ABBA ABBA"));
  const parameters = new Map(
    runs.map(({ id, configuration }, k) => [id, new Map(Object.entries(of(configuration, k)))] as const),
  );
  const audit = auditCampaign(inventedCampaign(runs), runs, [], { count: 1 }, defaultSettings, parameters);
  return auditSchema.parse(JSON.parse(JSON.stringify(audit)));
}

test("gains that were set otherwise for one configuration are a doubt, with their values", () => {
  const audit = audited((configuration) => ({
    MC_ROLL_P: configuration === "bare" ? 6.5 : 8,
    MPC_XY_P: 0.95,
    LND_FLIGHT_T_LO: configuration === "bare" ? 1 : 2,
  }));
  const [finding] = findingsOf(audit, "settings-apart");
  expect(finding).toMatchObject({
    severity: "doubt",
    evidence: { settings: ["MC_ROLL_P"], differing: 1, runs_with_settings: 8 },
  });
  expect(finding!.message).toContain("MC_ROLL_P (6.5 against 8)");
  // what the autopilot counts by itself is set by nobody
  expect(audit.parameters).toEqual([{ name: "MC_ROLL_P", configurations: { bare: [6.5], weighted: [8] } }]);
});

test("settings that wander within both configurations are a note", () => {
  const audit = audited((_, place) => ({ CAL_GYRO0_XOFF: place % 3 }));
  expect(findingsOf(audit, "settings-apart")).toMatchObject([
    { severity: "note", evidence: { settings: ["CAL_GYRO0_XOFF"] } },
  ]);
});

test("equal settings, and logs that keep none, say nothing", () => {
  expect(
    findingsOf(
      audited(() => ({ MC_ROLL_P: 6.5 })),
      "settings-apart",
    ),
  ).toEqual([]);
  expect(
    findingsOf(
      audited(() => ({})),
      "settings-apart",
    ),
  ).toEqual([]);
});

test("each threshold that the manifest sets is named with the usual one; set as usual, it is not", () => {
  const runs = flownRuns(letters("ABBA ABBA"));
  const findings = (thresholds: Campaign["thresholds"]) => {
    const campaign = { ...inventedCampaign(runs), thresholds };
    const audit = auditCampaign(campaign, runs, [], { count: 1 }, settingsFor(campaign));
    return findingsOf(auditSchema.parse(JSON.parse(JSON.stringify(audit))), "thresholds-set");
  };
  const [finding, ...others] = findings({ valid_fraction: 0.8, static_spread: 0.008, jump_speed: 3 });
  expect(others).toEqual([]);
  expect(finding).toMatchObject({
    severity: "note",
    evidence: { valid_fraction: [0.8, 0.9], static_spread: [0.008, 0.005] },
  });
  expect(finding!.message).toBe(
    "the manifest sets 2 thresholds: valid_fraction 80 % (usually 90 %), static_spread 8 mm (usually 5 mm)",
  );
  expect(findings({ valid_fraction: 0.9 })).toEqual([]);
});
