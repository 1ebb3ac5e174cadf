import { type CampaignCheck, campaignCheckSchema } from "../../src/contract/look.ts";
import { inventedEvaluation } from "./inventedEvaluation.ts";

/** The invented evaluation as a check would show it. */
export function inventedCheck(): CampaignCheck {
  const { title, tool, inputs, settings, fitted, noise, runs, audit } = inventedEvaluation();
  return campaignCheckSchema.parse({
    check: 1,
    title,
    tool,
    inputs,
    settings: {
      ...settings,
      baseline: "A",
      candidate: "B",
      configurations: Object.fromEntries(
        ["A", "B"].map((label) => [label, { label, added_mass: null, counterweights: [] }]),
      ),
    },
    fitted,
    noise,
    runs: runs.map((run) => ({
      ...run,
      configuration: null,
      takeoff_mass: null,
      tracking: { cycles: null, hold: null },
      hold: null,
      attitude: null,
      synchronous: null,
      path: null,
      budget: null,
    })),
    audit,
    delays_apart: [],
    named: [],
    opened: null,
  });
}
