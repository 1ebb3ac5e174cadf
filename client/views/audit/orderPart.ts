import { measureOf } from "../../../src/catalogue/measures.ts";
import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { Audit } from "../../../src/contract/audit.ts";
import { unitName } from "../../../src/words/amounts.ts";
import { axisAt } from "../../../src/words/places.ts";
import { element } from "../../app/element.ts";
import { roleSigns } from "../../app/verdictSigns.ts";
import { fixed, intervalText, noValue, probabilityValue, signed, signedAmount } from "../../app/words.ts";
import { figuresTable, numberCell } from "../run/figuresTable.ts";
import { configurationLabel, signedLabel } from "../why/configurationLabel.ts";

const sources = {
  started: "as declared (started)",
  "log times": "as the logs' own times say",
  manifest: "as the manifest lists them (nothing tells when they were flown)",
} as const;

/** The order flown per trajectory, what a steady drift would fake by it, and the drift that was seen. */
export function orderPart(campaign: CampaignView, orders: Audit["order"]): HTMLElement {
  return element("section", { class: "audit-order" }, [
    element("h2", { text: "Order" }),
    element("p", {
      class: "reading",
      text: "A day drifts: packs age, air warms, hands learn. Where one configuration is flown later than the other, a drift passes for a difference: 2 % a run fakes 6 % in A A A B B B, and nothing in A B B A.",
    }),
    ...orders.map((order) =>
      element("div", {}, [
        element("h3", { text: `In ${order.trajectory}` }),
        element(
          "ol",
          { class: "flown-order", "aria-label": `Order flown in ${order.trajectory}` },
          order.sequence.map((name, k) =>
            element("li", { title: `${order.runs[k] ?? ""}: ${configurationLabel(campaign, name)}` }, [
              element("span", { "aria-hidden": "true", text: signOf(campaign, name) }),
              element("span", {
                class: "unseen",
                text: `${configurationLabel(campaign, name)}, ${order.runs[k] ?? ""}`,
              }),
            ]),
          ),
        ),
        element("p", { class: "quiet small", text: `${legend(campaign, order.sequence)}; ${sources[order.source]}.` }),
        element("p", { text: fakedText(campaign, order) }),
        order.drift.length === 0 ? null : driftTable(campaign, order),
      ]),
    ),
  ]);
}

function signOf(campaign: CampaignView, name: string): string {
  return roleSigns[campaign.configurations.find((one) => one.name === name)?.role ?? "other"];
}

function legend(campaign: CampaignView, sequence: readonly string[]): string {
  return [...new Set(sequence)].map((name) => signedLabel(campaign, name)).join(", ");
}

function fakedText(campaign: CampaignView, { later, faked }: Audit["order"][number]): string {
  if (later === null || faked === null) return "Only one configuration was flown here: neither comes later.";
  const label = configurationLabel(campaign, campaign.candidate);
  return `${label} was flown ${fixed(Math.abs(later), 2)} places ${later < 0 ? "earlier" : "later"} on average; a steady drift of 2 % a run would fake a difference of ${fixed(100 * Math.abs(faked), 1)} %.`;
}

function driftTable(campaign: CampaignView, { trajectory, drift }: Audit["order"][number]): HTMLElement {
  const si = measureOf(drift[0]?.metric ?? "rms").unit;
  const unit = unitName(si);
  return figuresTable({
    name: `drift in ${trajectory}`,
    caption: "Drift of the run values with the order, within configurations",
    columns: ["cell", `${unit} a run`, "95 % interval", "% a run", "p", `faked, ${unit}`],
    fileColumns: ["cell", `${si} a run`, `95 % interval, ${unit}`, "share a run", "p", `faked, ${si}`],
    rows: drift.map((one) => [
      { text: `${one.subject} ${axisAt(campaign.judged_in, { ...one, trajectory })}` },
      numberCell(one.slope, (value) => signedAmount(value, si, 3)),
      { text: one.slope_ci95 === null ? noValue : intervalText(one.slope_ci95, si, 3) },
      numberCell(one.slope_share, (share) => signed(100 * share, 1)),
      { text: probabilityValue(one.p), value: one.p },
      numberCell(one.faked, (value) => signedAmount(value, si, 3)),
    ]),
  });
}
