import type { MeasureId } from "../../../src/catalogue/measures.ts";
import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import { addressOf } from "../../app/address.ts";
import { element } from "../../app/element.ts";

/** Another metric is another look: shown without verdicts. Which one the verdicts are about stands in the manifest. */
export function metricChooser({ metrics, primary }: CampaignView, chosen: MeasureId): HTMLElement {
  return element("nav", { class: "metrics no-print", "aria-label": "Metric of the board" }, [
    element("span", { class: "quiet", text: "Metric:" }),
    element(
      "ul",
      {},
      metrics.map((metric) =>
        element("li", {}, [
          element("a", {
            href: addressOf({ page: "answer", metric: metric === primary ? null : metric }),
            text: metric === primary ? `${metric} (primary)` : metric,
            "aria-current": metric === chosen ? "page" : null,
          }),
        ]),
      ),
    ),
  ]);
}
