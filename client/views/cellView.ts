import type { CellAnswer, CellsAnswer } from "../../src/contract/api/cellAnswers.ts";
import { apiPaths } from "../../src/contract/api/paths.ts";
import { element } from "../app/element.ts";
import { fetchAnswer } from "../app/fetchAnswer.ts";
import { capital, labelOf, placeName } from "../app/names.ts";
import type { View } from "../app/View.ts";
import { verdictSigns } from "../app/verdictSigns.ts";
import { decimalsFor } from "../app/words.ts";
import { cellFigures } from "./cell/cellFigures.ts";
import { cellNavigation, metricLinks } from "./cell/cellNavigation.ts";
import { cellNumbers } from "./cell/cellNumbers.ts";
import { type CellLabels, equivalenceText, flipTexts, measuredText, verdictText } from "./cell/cellWords.ts";

/** One cell: what it says and why, what it rests on, and what would change it. */
export const cellView: View = async (root, context) => {
  const { campaign, place, left } = context;
  if (place.page !== "cell") return;
  const loading = element("p", { class: "quiet loading", text: "Fetching the cell…" });
  root.append(loading);
  const [answer, { cells }] = await Promise.all([
    fetchAnswer<CellAnswer>(apiPaths.cell(place), { signal: left }),
    fetchAnswer<CellsAnswer>(apiPaths.cells, { signal: left, query: { metric: place.metric } }),
  ]);
  loading.remove();
  const { cell } = answer;
  const decimals = decimalsFor(cell.ci95 === null ? 0 : (cell.ci95[1] - cell.ci95[0]) / 2, cell.unit);
  const labels: CellLabels = {
    baseline: labelOf(campaign, campaign.baseline),
    candidate: labelOf(campaign, campaign.candidate),
    family: campaign.family,
    decimals,
    runDecimals: Math.max(decimals, decimalsFor(Math.max(cell.baseline.sd ?? 0, cell.candidate.sd ?? 0), cell.unit)),
    familyError: campaign.thresholds.family_error ?? 0.05,
    equivalenceError: campaign.thresholds.equivalence_error ?? 0.05,
  };
  const part = (title: string, texts: readonly string[]): HTMLElement =>
    element("section", {}, [element("h2", { text: title }), ...texts.map((text) => element("p", { text }))]);
  root.append(
    element("div", { class: "cell-head" }, [cellNavigation(cell, cells, context), metricLinks(cell, context)]),
    element("h1", { tabindex: "-1" }, [
      `${capital(placeName(cell))}: `,
      cell.verdict === null
        ? element("span", { class: "quiet", text: `exploratory (${cell.metric})` })
        : element("span", { class: "headline-verdict", data: { verdict: cell.verdict } }, [
            element("span", { "aria-hidden": "true", text: `${verdictSigns[cell.verdict]} ` }),
            cell.verdict,
          ]),
      cell.fragile.length > 0 ? element("span", { class: "quiet", text: ", fragile" }) : null,
    ]),
    element("p", { class: "lead", text: measuredText(cell, labels) }),
    element("div", { class: "cell-reasons" }, [
      part(cell.verdict === null ? "Why no verdict" : "Why this verdict", [verdictText(cell, labels)]),
      cell.verdict === null ? null : part("What would flip it", flipTexts(answer, labels)),
      part("Too small to matter?", [equivalenceText(cell, labels)]),
    ]),
    cellFigures(answer, labels),
    element("section", { class: "cell-numbers-place" }, [
      element("h2", { text: "Numbers" }),
      cellNumbers(cell, labels),
    ]),
  );
};
