import type { Cell } from "../contract/cell.ts";
import { joinWords } from "../words/lists.ts";
import { placeWords } from "../words/places.ts";
import { shortName } from "./text/nameText.ts";
import { plainText } from "./text/plainText.ts";

/** What is said of a cell beneath the board, under which number. */
export type Marks = ReadonlyMap<Cell, { readonly number: number; readonly text: string }>;

/**
 * Remarks on single cells: which findings forbid a claim, why a verdict is fragile, and where a verdict would be another with the runs put back that a
 * person excluded. Numbered in the order of the cells.
 */
export function boardMarks(family: readonly Cell[]): Marks {
  const marks = new Map<Cell, { number: number; text: string }>();
  for (const cell of family) {
    const remark = remarkOn(cell);
    if (remark === "") continue;
    const place = `${shortName(cell.trajectory)}, ${placeWords(cell.subject, [cell.axis], cell.judged_in)}`;
    marks.set(cell, { number: marks.size + 1, text: `${place}: ${remark}` });
  }
  return marks;
}

function remarkOn({ fragile, verdict, doubts, verdict_all_runs: allRuns }: Cell): string {
  if (verdict === "doubted") return doubts.length === 0 ? "" : `doubted for ${joinWords(doubts)}.`;
  const reasons = fragile.map((reason) => plainText(reason).replace(/[.\s]+$/, ""));
  if (reasons.length > 0) return `fragile: ${reasons.join("; ")}.`;
  if (allRuns === null || allRuns === verdict) return "";
  return `with the excluded runs put back: ${allRuns}.`;
}
