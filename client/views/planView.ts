import "../style/run.css";
import "../style/why.css";
import { apiPaths } from "../../src/contract/api/paths.ts";
import type { PlanAnswer } from "../../src/contract/api/reasonsAnswers.ts";
import { element } from "../app/element.ts";
import { fetchAnswer, withQuery } from "../app/fetchAnswer.ts";
import type { Place } from "../app/place.ts";
import type { View } from "../app/View.ts";
import { countText, fixed } from "../app/words.ts";
import { designsPart } from "./plan/designsPart.ts";
import { forecastPart } from "./plan/forecastPart.ts";
import { orderPart } from "./plan/orderPart.ts";
import { planControls } from "./plan/planControls.ts";

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
    forecastPart(plan),
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
        text: `Judging again after more flights is another look (so far ${countText(campaign.looks.count, "look")}): decide now how many to fly, fly them all, then look. The forecasts are for ${fixed(100 * plan.power, 0)} % power among ${plan.family} cells, if later runs scatter as those flown.`,
      }),
    ]),
  );
};

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
