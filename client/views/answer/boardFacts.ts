import { isUntested } from "../../../src/catalogue/verdicts.ts";
import type { Cell } from "../../../src/contract/cell.ts";
import { inShown, joinWords, percentPieces } from "../../../src/words/amounts.ts";
import { decimalsFor, probabilityText } from "../../app/words.ts";

/** Decimals of all differences of a board, in the unit read: what the middle one of its intervals deserves. */
export function boardDecimals(cells: readonly Cell[]): number {
  const halves = cells.flatMap(({ ci95 }) => (ci95 === null ? [] : [(ci95[1] - ci95[0]) / 2])).sort((a, b) => a - b);
  return halves.length === 0 ? 1 : decimalsFor(halves[Math.floor(halves.length / 2)]!, cells[0]!.unit);
}

/** Decimals of one cell: the board's, and more only where its interval would shrink to nothing in them. */
export function cellDecimals({ ci95, unit }: Cell, common: number): number {
  if (ci95 === null) return common;
  const half = (ci95[1] - ci95[0]) / 2;
  return inShown(half, unit) < 0.5 * 10 ** -common ? Math.max(common, decimalsFor(half, unit)) : common;
}

/** @example cellFacts(cell) // => "−55 % (−70 to −38 %), 4 v 5, p < 0.001" */
export function cellFacts(cell: Cell, family: number): string {
  const { baseline, candidate, p_family: familyP, verdict } = cell;
  const p = familyP === null || isUntested(verdict) || aloneText(cell, family).includes("(p");
  const share = percentPieces(cell).join(" ").replaceAll("-", "−");
  return [share, `${baseline.n} v ${candidate.n}`, p ? "" : probabilityText(familyP)]
    .filter((fact) => fact !== "")
    .join(", ");
}

/**
 * Where a cell's own interval leaves 0 out and its verdict is yet no claim: why.
 *
 * @example aloneText(cell, 12) // => "clear alone (p 0.013), not among 12 (p 0.12)"
 */
export function aloneText({ ci95, p, p_family: familyP, verdict }: Cell, family: number): string {
  if (ci95 === null || (ci95[0] <= 0 && ci95[1] >= 0)) return "";
  if (verdict === "no difference that matters") return "clear of 0, yet too small to matter";
  if (verdict !== "within the noise" || p === null || familyP === null) return "";
  return `clear alone (${probabilityText(p)}), not among ${family} (${probabilityText(familyP)})`;
}

/** What is said of a cell beneath the board: which findings forbid a claim, why it is fragile, or that excluded runs would change it. */
export function cellRemark({
  fragile,
  verdict,
  doubts,
  verdict_all_runs: all,
}: Cell): { word: "fragile" | "see"; text: string } | null {
  if (verdict === "doubted")
    return doubts.length === 0 ? null : { word: "see", text: `doubted for ${joinWords(doubts)}` };
  if (fragile.length > 0) return { word: "fragile", text: `fragile: ${fragile.join("; ")}` };
  if (all === null || all === verdict) return null;
  return { word: "see", text: `with the excluded runs put back: ${all}` };
}
