import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { Audit } from "../../../src/contract/audit.ts";
import { element } from "../../app/element.ts";
import { fixed } from "../../app/words.ts";
import { figuresTable } from "../run/figuresTable.ts";
import { configurationLabel } from "../why/configurationLabel.ts";

/** Runs per trajectory, block and configuration. */
export function blocksPart(campaign: CampaignView, blocks: Audit["blocks"]): HTMLElement {
  const names = [...new Set(blocks.flatMap(({ configurations }) => Object.keys(configurations)))];
  return element("section", { class: "audit-blocks" }, [
    element("h2", { text: "Blocks" }),
    element("p", {
      class: "reading",
      text: "Comparing within blocks (a day, a battery pack) keeps what the days differ by out of the difference. That takes both configurations in every block, best in equal numbers.",
    }),
    figuresTable({
      name: "audit blocks",
      caption: "Used runs, of those filed, and their mean heading",
      columns: ["trajectory", "block", ...names.map((name) => configurationLabel(campaign, name))],
      rows: blocks.map(({ trajectory, block, configurations }) => [
        { text: trajectory },
        { text: block ?? "none declared" },
        ...names.map((name) => {
          const counts = configurations[name];
          if (counts === undefined) return { text: "0" };
          const heading = counts.heading === null ? "" : `, ${fixed((counts.heading * 180) / Math.PI, 0)}°`;
          return { text: `${counts.used} of ${counts.filed}${heading}` };
        }),
      ]),
    }),
  ]);
}
