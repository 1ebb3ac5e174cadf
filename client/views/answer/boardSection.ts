import { type MeasureId, measureOf } from "../../../src/catalogue/measures.ts";
import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import { apiPaths } from "../../../src/contract/api/paths.ts";
import type { Cell } from "../../../src/contract/cell.ts";
import { signWords, unitName } from "../../../src/words/amounts.ts";
import { repeatedIntervals } from "../../../src/words/lookWords.ts";
import { measureLabel } from "../../../src/words/places.ts";
import { addressOf } from "../../app/address.ts";
import { element, labelOf, placeName } from "../../app/element.ts";
import type { ViewContext } from "../../app/View.ts";
import { sizeText, typeset } from "../../app/words.ts";
import { board, numberRemarks } from "./board.ts";
import { boardDecimals, cellDecimals, cellRemark } from "./boardFacts.ts";
import { legend } from "./legend.ts";

/** The board with all that explains it: the family with its verdicts, or another metric without any. */
export function boardSection({ campaign }: ViewContext, cells: readonly Cell[], metric: MeasureId): HTMLElement {
  const family = cells.filter((cell) => cell.in_family);
  const judged = metric === campaign.primary && family.length > 0;
  const shown = judged ? family : cells;
  const beside = judged ? cells.filter((cell) => !cell.in_family) : [];
  const numbered = numberRemarks(shown);
  const caption = boardCaption(campaign, metric);
  const parts: (HTMLElement | null)[] = [
    element("div", { class: "board-head" }, [
      element("h2", { id: "board-title", text: judged ? "Verdicts" : `Another metric: ${measureLabel(metric)}` }),
      metricChooser(campaign, metric),
    ]),
    judged
      ? null
      : element("p", {
          class: "exploratory",
          text: `Exploratory: shown without verdicts. The verdicts are about the ${measureLabel(campaign.primary)}, as the manifest declared before these numbers were seen; a difference that is found by trying metrics is no evidence.`,
        }),
  ];
  if (shown.length === 0) {
    parts.push(
      element("p", {
        text: "There are no cells: a cell needs runs of both configurations on a trajectory. See the runs below for what is missing.",
      }),
    );
  } else {
    parts.push(
      board(campaign, shown, { caption, numbered }),
      boardNotes(numbered),
      boardDownloads(campaign, shown, caption),
      legend(campaign, shown, metric),
    );
  }
  if (beside.length > 0) {
    parts.push(
      element("details", { class: "beside" }, [
        element("summary", {
          text: beside.every(({ subject }) => subject === "arm")
            ? "The arm against its command, in the vehicle's frame (exploratory, no verdicts)"
            : "What the declared family leaves out (exploratory, no verdicts)",
        }),
        board(campaign, beside, { caption, numbered: new Map() }),
      ]),
    );
  }
  return element(
    "section",
    { class: "board-section", "aria-labelledby": "board-title" },
    parts.filter((part) => part !== null),
  );
}

function boardCaption(campaign: CampaignView, metric: MeasureId): string {
  const [candidate, baseline] = [campaign.candidate, campaign.baseline].map((name) => labelOf(campaign, name));
  const what = measureLabel(metric);
  const given = Object.values(campaign.smallest_difference).filter((value) => value !== null);
  const { unit, steadier } = measureOf(metric);
  const known = new Set(given).size === 1 && unit === measureOf(campaign.primary).unit;
  const smallest = known ? ` Smallest difference that matters: ${sizeText(given[0]!, unit)}.` : "";
  return `${what.charAt(0).toUpperCase()}${what.slice(1)}, “${candidate}” minus “${baseline}”, ${unitName(unit)} with 95 % interval; ${signWords(steadier)}. The drawings of a row have one scale.${smallest}${campaign.looks.paid !== undefined && metric === campaign.primary ? ` ${repeatedIntervals}` : ""}`;
}

/** The remarks on single cells, under the numbers that stand in the board. */
function boardNotes(numbered: ReadonlyMap<Cell, number>): HTMLElement | null {
  if (numbered.size === 0) return null;
  return element(
    "ol",
    { class: "notes small", "aria-label": "Remarks on single cells" },
    [...numbered.keys()].map((cell) =>
      element("li", {}, [element("span", { text: `${placeName(cell)}: ${typeset(cellRemark(cell)?.text ?? "")}.` })]),
    ),
  );
}

/** Another metric is another look: shown without verdicts. Which one the verdicts are about stands in the manifest. */
function metricChooser({ metrics, primary }: CampaignView, chosen: MeasureId): HTMLElement {
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

/** The board as one picture, and its numbers as a table. */
function boardDownloads(campaign: CampaignView, cells: readonly Cell[], caption: string): HTMLElement {
  const name = `board-${cells[0]?.metric ?? ""}`;
  const common = boardDecimals(cells);
  // loaded when it is asked for: the first screen draws nothing with it
  const saveBoard = async (how: "saveSvg" | "savePng"): Promise<void> => {
    const [save, { boardPicture }] = await Promise.all([
      import("../../figures/saveDrawing.ts"),
      import("../../figures/boardPicture.ts"),
    ]);
    const picture = boardPicture(cells, {
      caption,
      decimals: (cell) => cellDecimals(cell, common),
      trajectories: campaign.trajectories.map((trajectory) => trajectory.name),
      subjects: campaign.subjects,
    });
    await save[how](picture, name);
  };
  const button = (what: string, save: () => void): HTMLElement =>
    element("button", {
      type: "button",
      class: "plain",
      text: what,
      "aria-label": `Download the board as ${what}`,
      on: { click: save },
    });
  return element("p", { class: "downloads small" }, [
    "Download the board ",
    button("SVG", () => void saveBoard("saveSvg")),
    button("PNG", () => void saveBoard("savePng")),
    element("a", { href: apiPaths.export.cells, download: "cells.csv", text: "CSV (all cells)" }),
  ]);
}
