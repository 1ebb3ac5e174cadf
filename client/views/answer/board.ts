import { measureAxes, measureOf } from "../../../src/catalogue/measures.ts";
import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { Cell } from "../../../src/contract/cell.ts";
import { unitName } from "../../../src/words/amounts.ts";
import { columnHead } from "../../../src/words/places.ts";
import { addressOf } from "../../app/address.ts";
import { element, placeName } from "../../app/element.ts";
import { verdictSigns } from "../../app/statusWords.ts";
import { intervalText, signedAmount } from "../../app/words.ts";
import { type BoardScale, boardScale } from "../../figures/boardScale.ts";
import { cellSketch } from "../../figures/cellSketch.ts";
import { atWidth, likelyWidth } from "../../figures/panels.ts";
import { aloneText, boardDecimals, cellDecimals, cellFacts, cellRemark } from "./boardFacts.ts";

let count = 0;

/** A card on a cell that says more while the cell is pointed at or has the focus. Escape puts it away. */
function withCard(cell: HTMLTableCellElement, card: HTMLElement): void {
  const show = (shown: boolean): void => {
    cell.classList.toggle("shown", shown);
  };
  cell.append(card);
  cell.addEventListener("pointerenter", () => show(true));
  cell.addEventListener("pointerleave", () => show(cell.contains(document.activeElement)));
  cell.addEventListener("focusin", () => show(true));
  cell.addEventListener("focusout", () => show(false));
  cell.addEventListener("keydown", (event) => {
    if (event.key === "Escape") show(false);
  });
}

/** What all cells of a board share. */
interface BoardFrame {
  readonly campaign: CampaignView;
  readonly decimals: number;
  /** number under which a cell's remark stands beneath the board */
  readonly numbered: ReadonlyMap<Cell, number>;
}

/**
 * One cell of the board: a link to its page with sign, word, drawing, difference and interval, and one mark where its verdict is
 * doubtful. All else stands on its card, and on its page.
 */
function boardCell(cell: Cell, scale: BoardScale, frame: BoardFrame): HTMLTableCellElement {
  const { campaign, decimals: common, numbered } = frame;
  const { difference, ci95, verdict } = cell;
  const decimals = cellDecimals(cell, common);
  const alone = aloneText(cell, campaign.family);
  const remark = cellRemark(cell);
  const number = numbered.get(cell);
  const id = `card-${++count}`;
  const sketch = element("span", { class: "sketch-place" });
  const columns = measureAxes(cell.metric).length;
  atWidth(sketch, (width) => sketch.replaceChildren(cellSketch(cell, scale, width)), likelyWidth() / (columns + 0.5));
  const made = element(
    "td",
    { class: "board-cell", data: { cell: `${cell.trajectory}/${cell.subject}/${cell.axis}/${cell.metric}` } },
    [
      element(
        "a",
        { class: "cell-link", href: addressOf({ page: "cell", ...placeOf(cell) }), "aria-describedby": id },
        [
          element("span", { class: "unseen", text: `${placeName(cell)}: ` }),
          verdict === null
            ? element("span", { class: "verdict quiet", text: "exploratory" })
            : element("span", { class: "verdict", data: { verdict } }, [
                element("span", { class: "verdict-sign", "aria-hidden": "true", text: verdictSigns[verdict] }),
                element("span", { text: verdict }),
              ]),
          sketch,
          element("span", { class: "cell-numbers" }, [
            difference === null
              ? element("span", { class: "quiet", text: "no difference to show" })
              : element("span", {}, [
                  element("data", {
                    class: "difference",
                    value: difference,
                    text: signedAmount(difference, cell.unit, decimals),
                  }),
                  ci95 === null ? null : ` ${intervalText(ci95, cell.unit, decimals)}`,
                  ` ${unitName(cell.unit)}`,
                ]),
          ]),
        ],
      ),
      remark === null || number === undefined
        ? null
        : element("button", {
            type: "button",
            class: "plain mark",
            text: `${remark.word} [${number}]`,
            "aria-describedby": id,
          }),
    ],
  );
  const lines: [string, string][] = [
    ["facts", cellFacts(cell, campaign.family)],
    ["alone", alone],
    ["remark", remark === null ? "" : `${remark.text}.`],
  ];
  const card = element(
    "span",
    { class: "tip", role: "tooltip", id },
    lines.flatMap(([name, text]) => (text === "" ? [] : [element("span", { class: name, text })])),
  );
  withCard(made, card);
  return made;
}

function placeOf({
  trajectory,
  subject,
  axis,
  metric,
}: Cell): Pick<Cell, "trajectory" | "subject" | "axis" | "metric"> {
  return { trajectory, subject, axis, metric };
}

const cellLink = "a:is(.cell-link, .glance-cell)";

/** Arrow keys lead from cell to cell of a board; Tab goes on leading through all of them. */
export function walkBoard(table: HTMLTableElement): void {
  table.addEventListener("keydown", (event) => {
    const step = steps[event.key];
    const link = (event.target as Element).closest(cellLink);
    if (step === undefined || link === null || event.altKey || event.ctrlKey || event.metaKey) return;
    const rows = [...table.querySelectorAll("tr")]
      .map((row) => [...row.querySelectorAll<HTMLAnchorElement>(cellLink)])
      .filter((row) => row.length > 0);
    const at = rows.findIndex((row) => row.includes(link as HTMLAnchorElement));
    const next = rows[at + step.down]?.[rows[at]!.indexOf(link as HTMLAnchorElement) + step.across];
    if (next === undefined) return;
    event.preventDefault();
    next.focus();
  });
}

const steps: Readonly<Record<string, { across: number; down: number }>> = {
  ArrowLeft: { across: -1, down: 0 },
  ArrowRight: { across: 1, down: 0 },
  ArrowUp: { across: 0, down: -1 },
  ArrowDown: { across: 0, down: 1 },
};

/**
 * The board: trajectory and subject down, axes across, a drawing and a verdict in each cell, those of a row on one scale.
 *
 * @param cells    of one metric
 * @param options.caption  what is compared, in a sentence
 */
export function board(
  campaign: CampaignView,
  cells: readonly Cell[],
  options: { caption: string; numbered: ReadonlyMap<Cell, number> },
): HTMLElement {
  const frame: BoardFrame = { campaign, decimals: boardDecimals(cells), numbered: options.numbered };
  const axes = cells[0] === undefined ? [] : measureAxes(cells[0].metric);
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
            axis === "norm" ? "overall" : `along ${columnHead(axis, cells)}`,
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
        ...subjects.map((subject) => {
          const row = own.filter((cell) => cell.subject === subject);
          const scale = boardScale(row);
          return element("tr", {}, [
            element("th", { scope: "row", text: subject }),
            ...axes.map((axis) => {
              const cell = row.find((each) => each.axis === axis);
              return cell === undefined
                ? element("td", { class: "quiet", text: "not measured" })
                : boardCell(cell, scale, frame);
            }),
          ]);
        }),
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
