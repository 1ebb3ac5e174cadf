import { measureAxes, measureOf } from "../catalogue/measures.ts";
import { verdicts } from "../catalogue/verdicts.ts";
import type { Cell } from "../contract/cell.ts";
import { type CampaignEvaluation, familySizeOf } from "../contract/evaluation.ts";
import { subjects } from "../foundation/tracks.ts";
import { joinWords, signWords, unitName } from "../words/amounts.ts";
import { looksText, repeatedIntervals } from "../words/lookWords.ts";
import { axisNamesOf, columnHead, measureLabel, placeWords } from "../words/places.ts";
import { boardCell, boardDecimals, type CellLine } from "./boardCell.ts";
import { trajectoriesOf } from "./cellPlaces.ts";
import { familyCells, hasStrays, isClaim, quotedConfiguration, runsText } from "./runGroups.ts";
import { smallestText, verdictShapes } from "./smallestText.ts";
import { packPieces, padRight, plainText, type TextFrame, wrapText } from "./text/layout.ts";
import { cutName, shortName } from "./text/nameText.ts";
import { noValue, probabilityText } from "./text/numbers.ts";

/** two blanks, the longest subject, a blank */
const labelWidth = 11;
/** a cell any wider would only drift away from its neighbours */
const widestColumn = 34;

/**
 * The verdicts of the family as a board: trajectory and subject down, axis across; beneath it what the signs mean, why a
 * verdict is fragile, and how often the flights were looked at.
 *
 * @returns lines of at most `frame.width` columns (60 or more); none where there is no family
 */
export function verdictBoard(evaluation: CampaignEvaluation, frame: TextFrame): string[] {
  const family = familyCells(evaluation);
  if (family.length === 0) return [];
  const marks = boardMarks(family);
  return [
    ...captionLines(evaluation, family, frame),
    "",
    ...boardLines(evaluation, marks, frame),
    "",
    ...remarkLines(evaluation, family, marks, frame),
  ];
}

function captionLines(evaluation: CampaignEvaluation, family: readonly Cell[], { width, style }: TextFrame): string[] {
  const { settings } = evaluation;
  const { unit, steadier } = measureOf(settings.primary);
  const label = (key: string): string => quotedConfiguration(evaluation, key);
  const caption = `${measureLabel(settings.primary)}, ${label(settings.candidate)} minus ${label(settings.baseline)}, ${unitName(unit)} with 95 % interval; ${signWords(steadier)}. ${pairedText(family)} Smallest difference that matters: ${smallestText(family)}.`;
  return [style.heading("Verdicts"), ...wrapText(caption[0]!.toUpperCase() + caption.slice(1), width)];
}

function pairedText(family: readonly Cell[]): string {
  const blocked = family.filter(({ method }) => method === "blocked").length;
  if (blocked === 0) return "Compared over all runs.";
  return blocked === family.length
    ? "Compared within blocks."
    : `Compared within blocks in ${blocked} of ${family.length} cells.`;
}

function boardLines(evaluation: CampaignEvaluation, marks: Marks, frame: TextFrame): string[] {
  const family = familyCells(evaluation);
  const axes = measureAxes(evaluation.settings.primary);
  const column = Math.min(widestColumn, Math.floor((frame.width - labelWidth) / axes.length));
  const options = {
    // the last column needs no gap behind it, but columns of one width read better
    width: column - 1,
    decimals: boardDecimals(family),
    family: familySizeOf(evaluation),
  };
  const blank = " ".repeat(labelWidth);
  const heads = axes.map((axis) => padRight(cutName(columnHead(axis, family), column - 2), column));
  const lines = [(blank + heads.join("")).trimEnd()];
  for (const trajectory of trajectoriesOf(family)) {
    lines.push(frame.style.heading(`In ${shortName(trajectory)}`));
    for (const subject of subjects) {
      const row = axes.map((axis) =>
        family.find((cell) => cell.trajectory === trajectory && cell.subject === subject && cell.axis === axis),
      );
      if (row.every((cell) => cell === undefined)) continue;
      const cells = row.map((cell): CellLine[] =>
        cell === undefined
          ? [{ text: noValue, emphasis: frame.style.faint }]
          : boardCell(cell, frame, {
              ...options,
              runs: runsText(cell, evaluation),
              mark: marks.get(cell)?.number ?? null,
            }),
      );
      lines.push(...besideEachOther(subject, cells, column));
    }
  }
  return lines;
}

function besideEachOther(label: string, cells: readonly (readonly CellLine[])[], column: number): string[] {
  const height = Math.max(...cells.map((cell) => cell.length));
  return Array.from({ length: height }, (_, row) => {
    const parts = cells.map((cell) => cell[row] ?? { text: "", emphasis: (text: string) => text });
    const last = parts.findLastIndex(({ text }) => text !== "");
    const shown = parts
      .slice(0, last + 1)
      .map(
        ({ text, emphasis }, index) => emphasis(text) + padRight(text, index < last ? column : 0).slice(text.length),
      );
    return padRight(row === 0 ? `  ${label}` : "", labelWidth) + shown.join("");
  });
}

function remarkLines(
  evaluation: CampaignEvaluation,
  family: readonly Cell[],
  marks: Marks,
  { width, style }: TextFrame,
): string[] {
  const legend = [
    ...verdicts.map((verdict) => `${verdictShapes[verdict]} ${verdict}`),
    "n v n: runs used, baseline v candidate",
    ...(family.some((cell) => hasStrays(cell, evaluation))
      ? ["n v n of n v n: runs in blocks that hold both, of those used"]
      : []),
    `p: of the cell among the ${familySizeOf(evaluation)} of the family (Holm)${evaluation.further_contrasts === undefined ? "" : `, those of all ${evaluation.further_contrasts.length + 1} pairs`}${evaluation.settings.family === undefined ? "" : ", as the manifest declares it; other cells have no verdict"}`,
  ];
  const remarks: string[] = [];
  if (family.some(({ axis, subject, trajectory }) => missesAxis(family, { axis, subject, trajectory })))
    remarks.push(`${noValue}: not compared`);
  if (family.some(({ verdict }) => verdict === "no difference that matters"))
    remarks.push("= is judged by the 90 % interval, which is narrower than the one shown.");
  const weak = family.filter(({ p_least: p }) => p !== null && p > 0.05);
  if (weak.length > 0) {
    const least = probabilityText(Math.max(...weak.map(({ p_least: p }) => p!)));
    const claims = weak.some(isClaim) ? ": there a claim rests on the t distribution alone" : "";
    remarks.push(
      `In ${weak.length} of ${family.length} cells there are too few runs for a permutation to fall below 0.05, whatever they show (least attainable ${least})${claims}.`,
    );
  }
  const faint = [
    ...packPieces(legend, width, { between: "; ", rest: "  " }),
    ...remarks.flatMap((remark) => wrapText(remark, width, { first: "", rest: "  " })),
  ].map(style.faint);
  const notes = [...marks.values()].flatMap(({ number, text }) => {
    const first = `[${number}] `;
    return wrapText(text, width, { first, rest: "    " });
  });
  return [...faint, ...looksLines(evaluation, width), ...(notes.length === 0 ? [] : ["", ...notes])];
}

function missesAxis(family: readonly Cell[], like: Pick<Cell, "axis" | "subject" | "trajectory">): boolean {
  const row = family.filter((cell) => cell.subject === like.subject && cell.trajectory === like.trajectory);
  return row.length < measureAxes(family[0]!.metric).length;
}

function looksLines({ looks }: CampaignEvaluation, width: number): string[] {
  const sentences: string[] = [];
  if (looks.count > 1 || looks.paid !== undefined) sentences.push(plainText(looksText(looks)));
  if (looks.paid !== undefined) sentences.push(repeatedIntervals);
  if (!looks.recorded) sentences.push("This look could not be written to looks.jsonl: the count will miss it.");
  return sentences.flatMap((sentence) => wrapText(sentence, width, { first: "", rest: "  " }));
}

/** What is said of a cell beneath the board, under which number. */
type Marks = ReadonlyMap<Cell, { readonly number: number; readonly text: string }>;

/**
 * Remarks on single cells: which findings forbid a claim, why a verdict is fragile, and where a verdict would be another with the runs put back that a
 * person excluded. Numbered in the order of the cells.
 */
function boardMarks(family: readonly Cell[]): Marks {
  const marks = new Map<Cell, { number: number; text: string }>();
  for (const cell of family) {
    const remark = remarkOn(cell);
    if (remark === "") continue;
    const place = `${shortName(cell.trajectory)}, ${placeWords(cell.subject, [cell.axis], cell.judged_in, axisNamesOf([cell]))}`;
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
