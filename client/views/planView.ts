import "../style/run.css";
import "../style/why.css";
import type { CampaignView } from "../../src/contract/api/campaignAnswer.ts";
import type { PlanAnswer } from "../../src/contract/api/cellAnswers.ts";
import { apiPaths } from "../../src/contract/api/paths.ts";
import type { Plan } from "../../src/contract/plan.ts";
import { element } from "../app/element.ts";
import { fetchAnswer, withQuery } from "../app/fetchAnswer.ts";
import type { Place, View } from "../app/View.ts";
import { countText, fixed, probabilityValue } from "../app/words.ts";
import { forecastPart } from "./plan/forecastPart.ts";
import { orderPart } from "./plan/orderPart.ts";
import { figuresTable, numberCell } from "./run/figuresTable.ts";

type PlanPlace = Place & { page: "plan" };

/** as in src/contract/api/queries.ts, which the bundle does not hold */
export const most = { runs: 40, blocks: 20, seed: 4_294_967_295 } as const;

/** Runs, blocks, sham and seed; a change leads to the place that holds it. */
function planControls(
  campaign: CampaignView,
  place: PlanPlace,
  { day }: PlanAnswer,
  go: (place: Place) => void,
): HTMLElement {
  const number = (label: string, key: "runs" | "blocks", value: number, least: number): HTMLElement =>
    element("label", {}, [
      label,
      element("input", { type: "number", name: key, min: least, max: most[key], step: 1, value, required: true }),
    ]);
  /** what the form asks for; null where a field is refused, which the form then says */
  const asked = (): Omit<PlanPlace, "seed"> | null => {
    if (!form.reportValidity()) return null;
    const fields = new FormData(form);
    const runs = Number(fields.get("runs"));
    const blocks = Math.min(Number(fields.get("blocks")), runs);
    return { page: "plan", runs, blocks, sham: fields.get("sham") === "yes" };
  };
  const lead = (seed: number | null): void => {
    const wanted = asked();
    if (wanted !== null) go({ ...wanted, seed });
  };
  const form: HTMLFormElement = element(
    "form",
    {
      class: "plan-controls no-print",
      "aria-label": "What to plan",
      on: {
        submit: (event) => {
          event.preventDefault();
          lead(place.seed);
        },
      },
    },
    [
      number("Runs to fly per configuration and trajectory", "runs", day.runs_per_configuration, 2),
      number("Blocks (days, packs), at most as many as runs", "blocks", day.blocks, 1),
      campaign.sham === null
        ? null
        : element("label", { class: "check" }, [
            element("input", { type: "checkbox", name: "sham", value: "yes", checked: place.sham }),
            "fly the sham too",
          ]),
      element("button", { type: "submit", text: "Plan" }),
      element("button", {
        type: "button",
        text: "Another order",
        on: { click: () => lead(Math.floor(Math.random() * most.seed)) },
      }),
      element("span", { class: "quiet small", text: `seed ${day.seed}: the same seed gives the same order` }),
    ],
  );
  return form;
}

/** What to fly next: what a day could show, and an order to fly it in. */
export const planView: View = async (root, { campaign, place, go, left }) => {
  if (place.page !== "plan") return;
  const loading = element("p", { class: "quiet loading", role: "status", text: "Planning …" });
  root.append(loading);
  const query = queryOf(place);
  const { plan, day } = await fetchAnswer<PlanAnswer>(apiPaths.plan, { signal: left, query });
  loading.replaceWith(
    element("h1", { text: "Next flights", tabindex: "-1" }),
    element("p", { class: "answer-more", text: headline(plan) }),
    planControls(campaign, place, { plan, day }, go),
    forecastPart(campaign, plan),
    designsPart(plan),
    orderPart(campaign, day, {
      csv: withQuery(apiPaths.export.nextRuns, { ...query, seed: day.seed }),
      cards: withQuery(apiPaths.export.testCards, { ...query, seed: day.seed }),
    }),
    element("section", {}, [
      element("h2", { text: "Before you fly" }),
      element("p", {
        class: "reading",
        text: "Props off for bench work; a netted or tethered arena with an exclusion zone and nobody inside; the kill switch tested; care with batteries, and none flown below its limit; counterweights mechanically retained, and the vehicle weighed and its centre of mass found again after each change; first hover low, with the arm parked, then step up the arm's speed. Local aviation rules, site procedures and licensed practice prevail. The tool judges logs; it never says that a vehicle is safe to fly.",
      }),
      element("p", {
        class: "reading",
        text: `${lookAdvice(campaign.looks)} The forecasts are for ${fixed(100 * plan.power, 0)} % power among ${plan.family} cells, if later runs scatter as those flown.`,
      }),
    ]),
  );
};

function lookAdvice({ count, paid }: CampaignView["looks"]): string {
  const soFar = `Judging again after more flights is another look (so far ${countText(count, "look")})`;
  return paid === undefined
    ? `${soFar}: decide now how many to fly, fly them all, then look.`
    : `${soFar}, and it is paid for: up to ${paid.runs_at_most} runs of either configuration on each trajectory you may look whenever you like.`;
}

/** What the service is asked for; what was not chosen is left to its advice. */
export function queryOf({
  runs,
  blocks,
  seed,
  sham,
}: Place & { page: "plan" }): Record<string, string | number | null> {
  return { runs, blocks, seed, sham: sham ? "yes" : null };
}

/** "Fly 8 runs of each configuration per trajectory (12 in all, 4 flown): ..." */
function headline({ runs_to_fly: toFly, runs_per_configuration: all, flown, because }: PlanAnswer["plan"]): string {
  const counted = toFly === all ? "" : ` (${all} in all with the ${flown} flown)`;
  return `Fly ${countText(toFly, "run")} of each configuration per trajectory${counted}: ${because}.`;
}

/** The smallest p that designs could ever give, before they are flown. */
function designsPart({ designs, level, family }: Plan): HTMLElement {
  return element("section", { class: "plan-designs" }, [
    element("h2", { text: "What a design could ever show" }),
    element("p", {
      class: "reading",
      text: `A permutation test within blocks assumes no distribution, but its p is never below one over the number of arrangements (twice that where both configurations have equal numbers). A design that cannot fall below 0.05 leaves every claim fragile. Level of one cell among ${family}: ${fixed(level, 4)}.`,
    }),
    element("details", {}, [
      element("summary", { text: "Least p by runs and blocks" }),
      figuresTable({
        name: "designs",
        caption: "Smallest p that the permutation test could give",
        columns: [
          "runs per configuration",
          "blocks",
          "ways",
          "least p",
          "can fall below 0.05",
          "below the level of one cell",
        ],
        rows: designs.map((design) => [
          { text: String(design.runs_per_configuration), value: design.runs_per_configuration },
          numberCell(design.blocks, String),
          numberCell(design.arrangements, (ways) => (ways < 1e6 ? String(ways) : ways.toExponential(1))),
          { text: probabilityValue(design.p_least), value: design.p_least },
          { text: design.can_reach ? "yes" : "no" },
          { text: design.can_reach_family ? "yes" : "no" },
        ]),
      }),
    ]),
  ]);
}
