import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { Cell } from "../../../src/contract/cell.ts";
import { unitName } from "../../../src/words/amounts.ts";
import { addressOf } from "../../app/address.ts";
import { element } from "../../app/element.ts";
import { placeName } from "../../app/names.ts";
import { verdictSigns } from "../../app/verdictSigns.ts";
import { intervalText, signedAmount } from "../../app/words.ts";
import type { BoardScale } from "../../figures/boardScale.ts";
import { cellSketch } from "../../figures/cellSketch.ts";
import { aloneText, cellDecimals, cellFacts, cellRemark } from "./boardFacts.ts";
import { noiseFloor } from "./noiseFloor.ts";
import { withTip } from "./withTip.ts";

/** What all cells of a board share. */
export interface BoardFrame {
  readonly campaign: CampaignView;
  readonly scale: BoardScale;
  readonly decimals: number;
  /** number under which a cell's remark stands beneath the board */
  readonly numbered: ReadonlyMap<Cell, number>;
}

/** One cell of the board: a link to its page, and beside it what makes its verdict doubtful. */
export function boardCell(
  cell: Cell,
  { campaign, scale, decimals: common, numbered }: BoardFrame,
): HTMLTableCellElement {
  const { difference, ci95, verdict } = cell;
  const decimals = cellDecimals(cell, common);
  const alone = aloneText(cell, campaign.family);
  const remark = cellRemark(cell);
  const number = numbered.get(cell);
  return element(
    "td",
    { class: "board-cell", data: { cell: `${cell.trajectory}/${cell.subject}/${cell.axis}/${cell.metric}` } },
    [
      element("a", { class: "cell-link", href: addressOf({ page: "cell", ...placeOf(cell) }) }, [
        element("span", { class: "unseen", text: `${placeName(cell)}: ` }),
        verdict === null
          ? element("span", { class: "verdict quiet", text: "exploratory" })
          : element("span", { class: "verdict", data: { verdict } }, [
              element("span", { class: "verdict-sign", "aria-hidden": "true", text: verdictSigns[verdict] }),
              element("span", { text: verdict }),
            ]),
        cellSketch(cell, scale, noiseFloor(campaign, cell)),
        element("span", { class: "cell-numbers" }, [
          difference === null
            ? element("span", { class: "quiet", text: "no difference can be had" })
            : element("span", {}, [
                element("data", {
                  class: "difference",
                  value: difference,
                  text: signedAmount(difference, cell.unit, decimals),
                }),
                ci95 === null ? null : ` ${intervalText(ci95, cell.unit, decimals)}`,
                ` ${unitName(cell.unit)}`,
              ]),
          element("span", { class: "quiet", text: cellFacts(cell, campaign.family) }),
        ]),
        alone === "" ? null : element("span", { class: "alone", text: alone }),
      ]),
      remark === null || number === undefined
        ? null
        : withTip(`${remark.word} [${number}]`, `${placeName(cell)}: ${remark.text}.`),
    ],
  );
}

function placeOf({
  trajectory,
  subject,
  axis,
  metric,
}: Cell): Pick<Cell, "trajectory" | "subject" | "axis" | "metric"> {
  return { trajectory, subject, axis, metric };
}
