import { measureAxes, measureOf } from "../../../src/catalogue/measures.ts";
import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { Cell } from "../../../src/contract/cell.ts";
import { unitName } from "../../../src/words/amounts.ts";
import { columnHead } from "../../../src/words/places.ts";
import { element } from "../../app/element.ts";
import { boardScale } from "../../figures/boardScale.ts";
import { type BoardFrame, boardCell } from "./boardCell.ts";
import { boardDecimals, cellRemark } from "./boardFacts.ts";
import { walkBoard } from "./walkBoard.ts";

/**
 * The board: trajectory and subject down, axes across, a drawing and a verdict in each cell, all on one scale.
 *
 * @param cells    of one metric
 * @param options.caption  what is compared, in a sentence
 * @param options.scaled   cells that set the scale; default those shown
 */
export function board(
  campaign: CampaignView,
  cells: readonly Cell[],
  options: { caption: string; scaled?: readonly Cell[]; numbered: ReadonlyMap<Cell, number> },
): HTMLElement {
  const scaled = options.scaled ?? cells;
  const frame: BoardFrame = {
    campaign,
    scale: boardScale(scaled),
    decimals: boardDecimals(cells),
    numbered: options.numbered,
  };
  const axes = cells[0] === undefined ? [] : measureAxes(cells[0].metric);
  const judged = cells.map(({ judged_in }) => judged_in);
  const { unit = "m", steadier = "lower" } = cells[0] === undefined ? {} : measureOf(cells[0].metric);
  const [left, right] = steadier === "lower" ? ["steadier", "less steady"] : ["less steady", "steadier"];
  const directions = `◂ ${left} · ${unitName(unit)} · ${right} ▸`;
  const trajectories = campaign.trajectories.filter(({ name }) => cells.some((cell) => cell.trajectory === name));
  const table = element("table", { class: "board" }, [
    element("caption", { class: "quiet", text: options.caption }),
    element("thead", {}, [
      element("tr", {}, [
        element("td", {}),
        ...axes.map((axis) =>
          element("th", { scope: "col" }, [
            axis === "norm" ? "overall" : `along ${columnHead(axis, judged)}`,
            element("span", { class: "directions", "aria-hidden": "true", text: directions }),
          ]),
        ),
      ]),
    ]),
    ...trajectories.map(({ name, text }) => {
      const own = cells.filter((cell) => cell.trajectory === name);
      const subjects = campaign.subjects.filter((subject) => own.some((cell) => cell.subject === subject));
      return element("tbody", {}, [
        element("tr", { class: "board-trajectory" }, [
          element("th", { scope: "rowgroup", colspan: axes.length + 1 }, [
            name,
            element("span", { class: "quiet", text: `  ${text}` }),
          ]),
        ]),
        ...subjects.map((subject) =>
          element("tr", {}, [
            element("th", { scope: "row", text: subject }),
            ...axes.map((axis) => {
              const cell = own.find((each) => each.subject === subject && each.axis === axis);
              return cell === undefined
                ? element("td", { class: "quiet", text: "not measured" })
                : boardCell(cell, frame);
            }),
          ]),
        ),
      ]);
    }),
  ]);
  walkBoard(table);
  return element("div", { class: "scroll board-place" }, [table]);
}

/** The cells of which something is said beneath the board, numbered in the order of the cells. */
export function numberRemarks(cells: readonly Cell[]): ReadonlyMap<Cell, number> {
  const remarked = cells.filter((cell) => cellRemark(cell) !== null);
  return new Map(remarked.map((cell, k) => [cell, k + 1]));
}
