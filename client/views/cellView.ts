import type { CellAnswer, CellsAnswer } from "../../src/contract/api/cellAnswers.ts";
import { apiPaths } from "../../src/contract/api/paths.ts";
import type { Cell } from "../../src/contract/cell.ts";
import { measureLabel } from "../../src/words/places.ts";
import { addressOf } from "../app/address.ts";
import { capital, element, labelOf, placeName } from "../app/element.ts";
import { fetchAnswer } from "../app/fetchAnswer.ts";
import { verdictSigns } from "../app/statusWords.ts";
import type { View, ViewContext } from "../app/View.ts";
import { walkPages } from "../app/walkPages.ts";
import { decimalsFor } from "../app/words.ts";
import type { Drawing } from "../figures/Figure.ts";
import { figureFrame } from "../figures/figureFrame.ts";
import { leaveOneOutFigure } from "../figures/leaveOneOutFigure.ts";
import { permutationFigure } from "../figures/permutationFigure.ts";
import { powerFigure } from "../figures/powerFigure.ts";
import { runsFigure } from "../figures/runsFigure.ts";
import { cellNumbers } from "./cell/cellNumbers.ts";
import {
  type CellLabels,
  constantTexts,
  equivalenceText,
  flipTexts,
  measuredText,
  permutationText,
  runsNeededText,
  verdictText,
} from "./cell/cellWords.ts";
import { phasePart } from "./cell/phasePart.ts";

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
      cell.constant === null ? null : part("Offset or spread?", constantTexts(cell, labels)),
    ]),
    phasePart(answer, labels, campaign, left),
    cellFigures(answer, labels),
    element("section", { class: "cell-numbers-place" }, [
      element("h2", { text: "Numbers" }),
      cellNumbers(cell, labels),
    ]),
  );
};

/** Where the manual says how each drawing is computed. */
const methodOf = {
  runs: "methods.html#difference-95-interval-p",
  "leave-one-out": "verdicts.html#fragile",
  permutation: "methods.html#permutation-p",
  "runs-needed": "methods.html#runs-needed",
} as const;

/** The drawings of a cell's page, each in its frame; what cannot be drawn says why. */
function cellFigures(answer: CellAnswer, labels: CellLabels): HTMLElement {
  const { cell, permutation, power } = answer;
  const where = placeName(cell);
  const { decimals } = labels;
  const framed = (
    name: keyof typeof methodOf,
    title: string,
    caption: string,
    draw: (text: {
      width: number;
      title: string;
      description: string;
      decimals: number;
      unit: Cell["unit"];
    }) => Drawing,
  ): HTMLElement =>
    figureFrame(
      {
        name: `${name}-${cell.trajectory}-${cell.subject}-${cell.axis}-${cell.metric}`,
        title,
        caption,
        how: methodOf[name],
      },
      (width) => draw({ width, title: `${title}: ${where}`, description: caption, decimals, unit: cell.unit }),
    );
  const missing = (title: string, text: string): HTMLElement =>
    element("section", { class: "figure" }, [element("h3", { text: title }), element("p", { class: "quiet", text })]);
  return element("div", { class: "cell-figures" }, [
    element("h2", { text: "What it rests on" }),
    framed("runs", `Runs and their difference`, runsCaption(answer), (text) =>
      runsFigure(answer, { ...text, ...labels }),
    ),
    answer.leave_one_out.length === 0 || cell.difference === null
      ? missing("Without each run in turn", "There are too few runs to leave one out.")
      : framed(
          "leave-one-out",
          "Without each run in turn",
          cell.in_family
            ? "The comparison made again without each run, the other cells kept; the verdict of each at the right, in strong type where it changes."
            : "The comparison made again without each run; p of each at the right.",
          (text) => leaveOneOutFigure(answer, text),
        ),
    permutation === null
      ? missing("Labels rearranged", "There are too few runs to rearrange the labels.")
      : framed("permutation", "Labels rearranged", permutationText(permutation), (text) =>
          permutationFigure(permutation, text),
        ),
    power === null
      ? missing("Runs needed", whyNoPower(cell))
      : framed(
          "runs-needed",
          "Runs needed",
          `${runsNeededText(cell)} Solid: spread as estimated; dashed: at the low and high end of its own uncertainty.`,
          (text) => powerFigure(power, cell, text),
        ),
  ]);
}

function whyNoPower({ in_family: inFamily, smallest_difference: smallest }: CellAnswer["cell"]): string {
  if (!inFamily) return "Runs are asked for where a verdict is sought; this cell is exploratory.";
  if (smallest === null) return "It cannot be said: no smallest difference is declared in the manifest.";
  return "It cannot be said: these runs show no spread.";
}

function runsCaption({ cell, runs }: CellAnswer): string {
  const cycles = cell.metric === "rms" ? " Small marks: its cycles, which are no replicates." : "";
  const blocked =
    cell.method === "blocked"
      ? " The difference is taken within blocks; it need not lie exactly below the candidate's mean, and can be surer than the scatter of all runs together."
      : "";
  const out = runs.some(({ used }) => !used) ? " Runs that do not count are struck through." : "";
  const below =
    cell.difference === null
      ? ""
      : ` Below, on the same scale: the difference with its 95 % (thin) and 90 % interval (thick)${cell.smallest_difference === null ? "" : ", and the smallest difference that matters (green band)"}.`;
  return `Each sign is the ${measureLabel(cell.metric)} of one run.${cycles} Upright line and grey: mean and its 95 % interval.${below}${blocked}${out}`;
}

/** The way back to the board, and to the cells beside this one in its order; also by the arrow keys. */
function cellNavigation(cell: Cell, cells: readonly Cell[], context: ViewContext): HTMLElement {
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
function metricLinks(cell: Cell, { campaign }: ViewContext): HTMLElement {
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
