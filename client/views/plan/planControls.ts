import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { PlanAnswer } from "../../../src/contract/api/reasonsAnswers.ts";
import { element } from "../../app/element.ts";
import type { Place } from "../../app/place.ts";

type PlanPlace = Place & { page: "plan" };

/** as in src/contract/api/queries.ts, which the bundle does not hold */
export const most = { runs: 40, blocks: 20, seed: 4_294_967_295 } as const;

/** Runs, blocks, sham and seed; a change leads to the place that holds it. */
export function planControls(
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
