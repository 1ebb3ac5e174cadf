import type { CampaignView } from "../../src/contract/api/campaignAnswer.ts";
import { buildText } from "../../src/words/buildText.ts";
import { element } from "./element.ts";

const cautions = [
  "Counterpoise judges logs; it never says that a vehicle is safe to fly. Local aviation rules, site procedures and licensed practice prevail.",
  "Before flying what you read here: props off for bench work; netted or tethered arena and an exclusion zone; kill switch tested; battery care; counterweights mechanically retained and weighed again after each change; first hover low, with the arm parked.",
];

/** The foot of every page: what the tool does not say, and the care that flying with counterweights takes, what made the page. */
export function pageFooter(): { footer: HTMLElement; sign: (campaign: CampaignView) => void } {
  const made = element("p", { class: "quiet small" });
  const footer = element("footer", { class: "page-footer" }, [
    ...cautions.map((text) => element("p", { class: "quiet small", text })),
    made,
  ]);
  return {
    footer,
    sign: ({ manifest, tool, truth }) => {
      const bodies = [`vehicle ${truth.vehicle}`, ...(truth.effector === null ? [] : [`effector ${truth.effector}`])];
      made.textContent = `Made from ${manifest} by ${tool.name} ${buildText(tool)}. Source of truth: motion capture, ${bodies.join(", ")}.`;
    },
  };
}
