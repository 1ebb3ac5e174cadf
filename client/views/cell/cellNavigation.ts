import type { Cell } from "../../../src/contract/cell.ts";
import { addressOf } from "../../app/address.ts";
import { element } from "../../app/element.ts";
import { placeName } from "../../app/names.ts";
import type { ViewContext } from "../../app/View.ts";
import { walkPages } from "./walkPages.ts";

/** The way back to the board, and to the cells beside this one in its order; also by the arrow keys. */
export function cellNavigation(cell: Cell, cells: readonly Cell[], context: ViewContext): HTMLElement {
  const { campaign, go, left } = context;
  const at = cells.findIndex((other) => placeName(other) === placeName(cell));
  const [before, after] = [cells[at - 1], cells[at + 1]];
  const link = (to: Cell | undefined, rel: "prev" | "next", words: (name: string) => string): HTMLElement | null =>
    to === undefined ? null : element("a", { href: addressOf(cellPlace(to)), rel, text: words(placeName(to)) });
  walkPages({ before: before && cellPlace(before), after: after && cellPlace(after) }, go, left);
  return element("nav", { class: "page-nav no-print", "aria-label": "Cells" }, [
    element("a", {
      href: addressOf({ page: "answer", metric: cell.metric === campaign.primary ? null : cell.metric }),
      text: "Board",
    }),
    element("span", { class: "beside-pages" }, [
      link(before, "prev", (name) => `← ${name}`),
      link(after, "next", (name) => `${name} →`),
      element("span", { class: "quiet small", text: "also by the arrow keys" }),
    ]),
  ]);
}

/** The same place by another metric. */
export function metricLinks(cell: Cell, { campaign }: ViewContext): HTMLElement {
  return element("nav", { class: "metrics no-print", "aria-label": "Metric of this cell" }, [
    element("span", { class: "quiet", text: "Metric:" }),
    element(
      "ul",
      {},
      campaign.metrics.map((metric) =>
        element("li", {}, [
          element("a", {
            href: addressOf({ ...cellPlace(cell), metric }),
            text: metric === campaign.primary ? `${metric} (primary)` : metric,
            "aria-current": metric === cell.metric ? "page" : null,
          }),
        ]),
      ),
    ),
  ]);
}

function cellPlace({ trajectory, subject, axis, metric }: Cell) {
  return { page: "cell", trajectory, subject, axis, metric } as const;
}
