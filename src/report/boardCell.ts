import { isUntested } from "../catalogue/verdicts.ts";
import type { Cell } from "../contract/cell.ts";
import { inShown, mostDecimals, percentPieces } from "../words/amounts.ts";
import { isClaim } from "./runGroups.ts";
import { verdictShapes } from "./smallestText.ts";
import { packPieces, type TextFrame, wrapText } from "./text/layout.ts";
import { decimalsFor, fixed, probabilityText } from "./text/numbers.ts";

/** One line of a cell: what it says, and how it may be emphasised once its width is settled. */
export interface CellLine {
  readonly text: string;
  readonly emphasis: (text: string) => string;
}

/**
 * A cell of the board: verdict; difference with its 95 % interval in the unit read; change in percent, runs and p among the
 * family; then what a reader must not miss.
 *
 * @param options.width     columns the cell may take
 * @param options.decimals  of the differences, the same for the whole board
 * @param options.family    number of cells in the family
 * @param options.runs      runs of baseline and candidate, in words (`runsText`)
 * @param options.mark      number under which the cell's remarks stand beneath the board; null where it has none
 */
export function boardCell(
  cell: Cell,
  { style }: TextFrame,
  options: { width: number; decimals: number; family: number; runs: string; mark: number | null },
): CellLine[] {
  const { width, decimals, family, runs, mark } = options;
  const plain = (text: string): string => text;
  const lines = (broken: readonly string[], emphasis = plain): CellLine[] => broken.map((text) => ({ text, emphasis }));
  const verdict = cell.verdict ?? "too few runs";
  const alone = alonePieces(cell, family);
  const inFull = alone.length > 1;
  const facts = [
    percentPieces(cell).join(" "),
    runs,
    cell.p_family === null || inFull || isUntested(verdict) ? "" : probabilityText(cell.p_family),
  ].filter((fact) => fact !== "");
  const fragile = cell.fragile.length > 0;
  const marked = mark === null ? "" : `${fragile ? "fragile" : "see"} [${mark}]`;
  return [
    ...lines(
      wrapText(`${verdictShapes[verdict]} ${verdict}`, width, { first: "", rest: "  " }),
      isClaim(cell) ? style.heading : plain,
    ),
    ...lines(packPieces(differencePieces(cell, decimals), width)),
    ...lines(packPieces(facts, width, { between: ", " })),
    ...lines(packPieces(alone, width), style.faint),
    ...(marked === "" ? [] : lines([marked], fragile ? style.doubt : plain)),
  ];
}

export function differencePieces({ difference, ci95, unit }: Cell, decimals: number): string[] {
  const shown = (value: number): string => fixed(inShown(value, unit), decimals);
  if (difference === null) return [];
  return [shown(difference), ...(ci95 === null ? [] : [`[${shown(ci95[0])}, ${shown(ci95[1])}]`])];
}

/** Where the cell's own interval leaves 0 out and its verdict is yet no claim: why. */
function alonePieces(cell: Cell, family: number): string[] {
  const { ci95, p, p_family: familyP } = cell;
  if (isClaim(cell) || ci95 === null || (ci95[0] <= 0 && ci95[1] >= 0)) return [];
  if (cell.verdict === "no difference that matters") return ["clear of 0, yet too small to matter"];
  if (cell.verdict !== "within the noise" || p === null || familyP === null) return [];
  return ["clear alone", `(${probabilityText(p)}),`, `not among ${family}`, `(${probabilityText(familyP)})`];
}

/** Decimals of the board's differences and intervals in the unit read, the same for all its cells. */
export function boardDecimals(family: readonly Cell[]): number {
  const shown = family.flatMap(({ difference, ci95, unit }) =>
    [difference ?? 0, ...(ci95 ?? [])].map((value) => inShown(value, unit)),
  );
  return Math.min(decimalsFor(shown), ...family.map(({ unit }) => mostDecimals(unit)));
}
