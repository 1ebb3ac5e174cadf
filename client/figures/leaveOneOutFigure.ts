import { scaleLinear } from "d3";
import type { CellAnswer } from "../../src/contract/api/cellAnswers.ts";
import { inShown, unitName } from "../../src/words/amounts.ts";
import { shortName } from "../app/element.ts";
import { verdictSigns } from "../app/statusWords.ts";
import { probabilityText, signedAmount } from "../app/words.ts";
import type { Drawing } from "./Figure.ts";
import { bottomAxis, domainAround } from "./plainAxis.ts";
import { runSign } from "./runLine.ts";
import { drawingRoot, intervalMark, svg } from "./svg.ts";

/** room for the names left of the intervals, and for the verdicts right of them; narrower, both stand above */
const sides = { left: 132, right: 216 } as const;
const narrow = 520;

type Variant = Pick<CellAnswer["leave_one_out"][number], "difference" | "ci95" | "p" | "p_family" | "verdict">;

interface Row extends Variant {
  readonly label: string;
  readonly role: "baseline" | "candidate" | null;
  /** the run left out */
  readonly run?: string;
  /** instead of the verdict */
  readonly said?: string;
}

/** rows of single runs that are drawn whatever they say */
const mostRows = 12;

/** The runs that are drawn one by one: all of a few; of many those without which the verdict is another, and the two that move the difference most. */
export function decisiveRuns({ cell, leave_one_out: all }: Pick<CellAnswer, "cell" | "leave_one_out">): string[] {
  if (all.length <= mostRows) return all.map(({ run }) => run);
  const apart = ({ difference }: Variant): number => Math.abs((difference ?? 0) - (cell.difference ?? 0));
  const most = [...all].sort((a, b) => apart(b) - apart(a)).slice(0, 2);
  return all.filter((variant) => variant.verdict !== cell.verdict || most.includes(variant)).map(({ run }) => run);
}

/** Those that change nothing as one row: as far as their intervals reach. */
function foldedRow(folded: CellAnswer["leave_one_out"]): Row {
  const ends = folded.flatMap(({ ci95 }) => ci95 ?? []);
  return {
    ...folded[0]!,
    label: `the other ${folded.length}`,
    role: null,
    difference: null,
    ci95: ends.length === 0 ? null : [Math.min(...ends), Math.max(...ends)],
    p: null,
    said: folded[0]!.verdict === null ? "between these" : "none changes it",
  };
}

/**
 * The comparison as judged, without each run in turn, and with the excluded runs put back: which of them decide it. Of many runs those
 * that change nothing are one row; the table holds all.
 */
export function leaveOneOutFigure(
  answer: CellAnswer,
  text: { width: number; title: string; description: string; decimals: number },
): Drawing {
  const { cell } = answer;
  const { width } = text;
  const above = width < narrow;
  const [left, right, line] = above ? [8, width - 8, 40] : [sides.left, width - sides.right, 21];
  const unit = unitName(cell.unit);
  const per = inShown(1, cell.unit);
  const single = answer.leave_one_out.map((variant) => ({
    ...variant,
    label: `without ${variant.run}`,
    role: cell.baseline.runs.includes(variant.run) ? ("baseline" as const) : ("candidate" as const),
  }));
  const shown = new Set(decisiveRuns(answer));
  const folded = answer.leave_one_out.filter(({ run }) => !shown.has(run));
  const rows: Row[] = [
    { ...cell, label: cell.in_family ? "as judged" : "all runs", role: null },
    ...single.filter(({ run }) => shown.has(run)),
    ...(folded.length === 0 ? [] : [foldedRow(folded)]),
    ...(answer.all_runs === null ? [] : [{ ...answer.all_runs, label: "excluded put back", role: null }]),
  ];
  const smallest = cell.smallest_difference;
  const domain = domainAround([
    0,
    ...(smallest === null ? [] : [-smallest, smallest]),
    ...rows.flatMap(({ difference, ci95 }) => [...(difference === null ? [] : [difference]), ...(ci95 ?? [])]),
  ]);
  const x = scaleLinear(domain, [left, right]);
  const top = 6;
  const bottom = top + rows.length * line + 4;
  return {
    svg: drawingRoot({ width, height: bottom + 38 }, text, [
      smallest === null
        ? null
        : svg("rect", {
            class: "band",
            x: x(-smallest),
            y: top,
            width: x(smallest) - x(-smallest),
            height: bottom - top,
          }),
      bottomAxis({
        scale: (value) => x(value / per),
        domain: [domain[0] * per, domain[1] * per],
        at: bottom,
        grid: top,
        label: `difference with 95 % interval, ${unit}`,
        most: 6,
      }),
      svg("line", { class: "zero", x1: x(0), x2: x(0), y1: top, y2: bottom }),
      cell.difference === null
        ? null
        : svg("line", { class: "mirrored", x1: x(cell.difference), x2: x(cell.difference), y1: top, y2: bottom }),
      ...rows.flatMap((row, k) =>
        drawRow(
          row,
          { y: top + k * line + (above ? 30 : line / 2), words: top + k * line + (above ? 14 : line / 2 + 4) },
          x,
          {
            other: row.verdict !== cell.verdict,
            said: above ? { x: width, anchor: "end" } : { x: right + 14, anchor: "start" },
          },
        ),
      ),
    ]),
    table: {
      columns: ["comparison", `difference (${unit})`, `95 % interval (${unit})`, "p", "p family", "verdict"],
      rows: [...rows.filter(({ run, said }) => run === undefined && said === undefined), ...single].map((row) => [
        row.label,
        signedAmount(row.difference, cell.unit, text.decimals),
        row.ci95 === null
          ? null
          : `${signedAmount(row.ci95[0], cell.unit, text.decimals)} to ${signedAmount(row.ci95[1], cell.unit, text.decimals)}`,
        row.p,
        row.p_family,
        row.verdict,
      ]),
    },
  };
}

function drawRow(
  row: Row,
  { y, words }: { readonly y: number; readonly words: number },
  x: (value: number) => number,
  { other, said: place }: { readonly other: boolean; readonly said: { readonly x: number; readonly anchor: string } },
): SVGElement[] {
  const said =
    row.said ??
    (row.verdict === null
      ? row.p === null
        ? ""
        : probabilityText(row.p)
      : `${verdictSigns[row.verdict]} ${row.verdict}`);
  const folded = row.said !== undefined;
  const strong = (row.role === null && !folded) || other ? " strong" : "";
  return [
    ...(row.role === null ? [] : [runSign(row.role, 6, words - 4, 3.4, row.run === undefined ? {} : { run: row.run })]),
    svg("text", {
      class: `row-text halo${row.role === null && !folded ? " strong" : ""}`,
      x: row.role === null ? 0 : 16,
      y: words,
      text: shortName(row.label, 20),
    }),
    ...(folded && row.ci95 !== null
      ? [svg("path", { class: "interval", d: `M${x(row.ci95[0])},${y}H${x(row.ci95[1])}` })]
      : []),
    ...(row.difference === null ? [] : intervalMark(y, x, { difference: row.difference, ci95: row.ci95 }, 3.5)),
    svg("text", {
      class: `row-text halo${strong}${row.role === null || other ? "" : " quiet-text"}`,
      x: place.x,
      y: words,
      "text-anchor": place.anchor,
      text: said,
    }),
  ];
}
