import type { RunRow } from "../../../src/contract/api/runAnswers.ts";
import type { Cell } from "../../../src/contract/cell.ts";
import { addressOf } from "../../app/address.ts";
import { element, placeName } from "../../app/element.ts";
import { verdictSigns } from "../../app/statusWords.ts";
import type { Place, ViewContext } from "../../app/View.ts";
import { walkPages } from "../../app/walkPages.ts";

/** The runs flown before and after this one, also by the arrow keys; both are shown of the same subject. */
export function runNeighbours(
  runs: readonly RunRow[],
  { run: id, subject }: Place & { page: "run" },
  { go, left }: Pick<ViewContext, "go" | "left">,
): HTMLElement {
  const flown = [...runs].sort((a, b) => a.order - b.order);
  const at = flown.findIndex((run) => run.id === id);
  const place = (run: RunRow | undefined) =>
    at < 0 || run === undefined ? undefined : ({ page: "run", run: run.id, subject, window: null } as const);
  const [before, after] = [place(flown[at - 1]), place(flown[at + 1])];
  walkPages({ before, after }, go, left);
  return element("nav", { class: "page-nav no-print", "aria-label": "Runs" }, [
    element("a", { href: addressOf({ page: "answer", metric: null }), text: "All runs" }),
    element("span", { class: "beside-pages" }, [
      before === undefined ? null : element("a", { href: addressOf(before), rel: "prev", text: `← ${before.run}` }),
      after === undefined ? null : element("a", { href: addressOf(after), rel: "next", text: `${after.run} →` }),
      element("span", { class: "quiet small", text: "also by the arrow keys" }),
    ]),
  ]);
}

/** The cells of the family that a run counts in, each with its verdict; null where it counts in none. */
export function countsIn(cells: readonly Cell[], id: string): HTMLElement | null {
  const own = cells.filter(
    ({ in_family: inFamily, baseline, candidate }) =>
      inFamily && (baseline.runs.includes(id) || candidate.runs.includes(id)),
  );
  if (own.length === 0) return null;
  return element("p", { class: "counts-in" }, [
    "Counts in ",
    ...own.flatMap((cell, k) => [
      k === 0 ? null : "; ",
      element("a", {
        href: addressOf({
          page: "cell",
          trajectory: cell.trajectory,
          subject: cell.subject,
          axis: cell.axis,
          metric: cell.metric,
        }),
        text: placeName(cell),
      }),
      cell.verdict === null ? null : ` (${verdictSigns[cell.verdict]} ${cell.verdict})`,
    ]),
    ".",
  ]);
}
