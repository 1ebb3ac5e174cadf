import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { FlightDay, TestCard } from "../../../src/contract/plan.ts";
import { element } from "../../app/element.ts";
import { fixed, probabilityText } from "../../app/words.ts";
import { configurationLabel, signedLabel } from "../why/movingPart.ts";

/** The order of the day as a table, and its files to take along. */
export function orderPart(
  campaign: CampaignView,
  day: FlightDay,
  files: { readonly csv: string; readonly cards: string },
): HTMLElement {
  const flights = day.cards.filter(({ kind }) => kind === "flight").length;
  const refits = day.cards.filter(({ refit }) => refit).length;
  return element("section", { class: "plan-order" }, [
    element("h2", { text: "An order to fly it in" }),
    element("p", {
      class: "reading",
      text: `${flights} flights in ${day.blocks === 1 ? "one block" : `${day.blocks} blocks`}, ${refits} of them after a refit; drawn by lot and mirrored, so that a steady drift of the day cancels out: ${laterText(campaign, day)}. Smallest p a permutation test could give: ${probabilityText(day.p_least)}. A/A pair: two baseline flights with the arm taken off and put back between them; what they differ by is what no difference looks like.`,
    }),
    element("p", { class: "no-print" }, [
      "Take along: ",
      element("a", { href: files.cards, download: "test-cards.html", text: "test cards to print" }),
      ", ",
      element("a", { href: files.csv, download: "next-runs.csv", text: "next-runs.csv" }),
      " (new rows for the runs of the manifest).",
    ]),
    element("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "Order of flights" }, [
      element("table", { class: "figures" }, [
        element("caption", { class: "unseen", text: "Order of flights" }),
        element("thead", {}, [
          element(
            "tr",
            {},
            ["place", "block", "what", "configuration", "trajectory", "pack", "log", "remarks"].map((text) =>
              element("th", { scope: "col", text }),
            ),
          ),
        ]),
        element(
          "tbody",
          {},
          day.cards.map((card) => cardRow(campaign, card)),
        ),
      ]),
    ]),
  ]);
}

function cardRow(campaign: CampaignView, card: TestCard): HTMLElement {
  const capture = card.kind === "static capture";
  const pack = card.battery === null ? "" : `${card.battery}, flight ${card.flight_on_battery ?? 1}`;
  const remarks = [card.refit ? "refit before" : "", card.pair ? "A/A pair" : ""].filter((text) => text !== "");
  const cells = [
    card.block,
    capture ? "static capture, props off" : "flight",
    card.configuration === null ? "" : signedLabel(campaign, card.configuration),
    card.trajectory ?? "",
    pack,
    card.log,
    remarks.join(", "),
  ];
  return element("tr", { class: capture ? "capture" : "" }, [
    element("th", { scope: "row", text: card.place }),
    ...cells.map((text) => element("td", { text })),
  ]);
}

function laterText(campaign: CampaignView, { later }: FlightDay): string {
  const label = configurationLabel(campaign, campaign.candidate);
  const stated = Object.entries(later).map(([trajectory, places]) =>
    Math.abs(places) < 1e-9
      ? `in ${trajectory} ${label} is flown neither earlier nor later`
      : `in ${trajectory} ${label} is flown ${fixed(Math.abs(places), 2)} places ${places < 0 ? "earlier" : "later"} on average`,
  );
  return stated.join("; ");
}
