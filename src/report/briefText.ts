import { measureAxes, measureOf } from "../catalogue/measures.ts";
import { verdicts } from "../catalogue/verdicts.ts";
import type { Cell } from "../contract/cell.ts";
import { type CampaignEvaluation, pairsOf, type RunEvaluation } from "../contract/evaluation.ts";
import { subjects } from "../foundation/tracks.ts";
import { signWords, unitName } from "../words/amounts.ts";
import { isOpen as isOpenFinding } from "../words/findingWords.ts";
import { lookSentence } from "../words/lookWords.ts";
import { columnHead, measureLabel } from "../words/places.ts";
import { answerSentences } from "./answerSentence.ts";
import { boardDecimals, differencePieces } from "./boardCell.ts";
import { trajectoriesOf } from "./cellPlaces.ts";
import { costSentence } from "./costSentences.ts";
import { balanceSentence } from "./movingSentences.ts";
import { familyCells, isClaim, isOpen, namedConfigurations } from "./runGroups.ts";
import { smallestText, verdictShapes } from "./smallestText.ts";
import { titleText } from "./summaryText.ts";
import { packPieces, padRight, plainText, type TextFrame, wrapText } from "./text/layout.ts";
import { cutName, shortName } from "./text/nameText.ts";
import { noValue } from "./text/numbers.ts";
import { toFlightSentence } from "./toFlightSentences.ts";

/** Lines that each part may take at most; what does not fit a screen gives way in this order, down to so many. */
const most = { title: 1, answer: 10, pairs: 4, rows: 8, looks: 3, balance: 2, bench: 2, costs: 3, lost: 5, next: 5 };
const least = { answer: 6, pairs: 2, lost: 3, rows: 6, next: 4 };
const screen = 43;
const labelWidth = 11;

/**
 * An evaluation on one screen: the answer, the board with one line a row, the runs that were lost or are doubtful, and what
 * to do next. All else is in `evaluationText`.
 *
 * @returns at most 43 lines, and the line break at their end: the command says two lines of its own beneath
 */
export function briefText(evaluation: CampaignEvaluation, frame: TextFrame): string {
  const room = { ...most };
  for (;;) {
    const text = inRoom(evaluation, frame, room);
    const wide = (Object.keys(least) as (keyof typeof least)[]).find((part) => room[part] > least[part]);
    if (wide === undefined || text.split("\n").length - 1 <= screen) return text;
    room[wide]--;
  }
}

/** The same with so many lines for each part. */
function inRoom(evaluation: CampaignEvaluation, frame: TextFrame, room: typeof most): string {
  // what a look cost is said whatever else is cut
  const paid = evaluation.looks.paid === undefined ? "" : lookSentence(evaluation.looks);
  const answer = answerSentences(evaluation).filter((sentence) => sentence !== paid);
  const sections = [
    cut(titleText(evaluation, frame), room.title, frame),
    cut(wrapText(answer.join(" "), frame.width), room.answer, frame),
    boardPart(evaluation, frame, room.rows),
    sentencePart(paid, room.looks, frame),
    ...pairsOf(evaluation)
      .slice(1)
      .map((pair) => cut(wrapText(answerSentences(pair).join(" "), frame.width), room.pairs, frame)),
    sentencePart(balanceSentence(evaluation), room.balance, frame),
    sentencePart(toFlightSentence(evaluation), room.bench, frame),
    sentencePart(costSentence(evaluation), room.costs, frame),
    lostPart(evaluation, frame, room.lost),
    cut(nextPart(evaluation, frame), room.next, frame),
    wrapText(
      "It judges logs and never says that a vehicle is safe to fly; local rules and licensed practice prevail. --full prints all of it, with reasons and tables.",
      frame.width,
    ).map(frame.style.faint),
  ].filter((lines) => lines.length > 0);
  return `${sections.map((lines) => lines.join("\n")).join("\n\n")}\n`;
}

/** A sentence in few lines: what the counterweights took away, what the bench says; none where there is nothing to say. */
function sentencePart(sentence: string, lines: number, frame: TextFrame): string[] {
  return sentence === "" ? [] : cut(wrapText(sentence, frame.width, { first: "", rest: "  " }), lines, frame);
}

/** The first lines of many, the last of them ending in dots. */
function cut(lines: readonly string[], count: number, { width }: TextFrame): string[] {
  if (lines.length <= count) return [...lines];
  const last = lines[count - 1]!;
  return [...lines.slice(0, count - 1), `${last.slice(0, width - 4).trimEnd()} ...`];
}

/** Trajectory and subject down, axis across: sign, difference with its interval, and a star where it is fragile. */
function boardPart(evaluation: CampaignEvaluation, frame: TextFrame, most: number): string[] {
  const family = familyCells(evaluation);
  if (family.length === 0) return [];
  const places = trajectoriesOf(family).flatMap((trajectory) =>
    subjects.map((subject) => family.filter((cell) => cell.trajectory === trajectory && cell.subject === subject)),
  );
  const rows = places.filter((cells) => cells.length > 0);
  const axes = measureAxes(family[0]!.metric);
  // where there are more rows than places, those that say something stand first; none is left out without a word
  const telling = rows.filter((cells) => cells.some((cell) => isClaim(cell) || cell.verdict === "doubted"));
  const shown = rows.length <= most ? rows : [...telling, ...rows.filter((row) => !telling.includes(row))];
  const kept = rows.filter((row) => shown.slice(0, most).includes(row));
  const column = Math.floor((frame.width - nameWidth(kept)) / axes.length);
  // a decimal less where the interval would not fit
  const wide = (decimals: number): boolean => family.some((cell) => cellText(cell, decimals).length >= column);
  const full = boardDecimals(family);
  const style = { column, names: nameWidth(kept), decimals: full > 0 && wide(full) ? full - 1 : full, frame };
  const signs = verdicts.filter((verdict) => family.some((cell) => cell.verdict === verdict));
  const fragile = family.some((cell) => cell.fragile.length > 0);
  const { primary } = evaluation.settings;
  const { unit, steadier } = measureOf(primary);
  const caption = `${measureLabel(primary)}, ${unitName(unit)} with 95 % interval, ${signWords(steadier)}; smallest difference ${smallestText(family)}`;
  return [
    padRight("", style.names) +
      axes
        .map((axis) => padRight(cutName(columnHead(axis, family), column - 2), column))
        .join("")
        .trimEnd(),
    ...kept.map((cells) => boardRow(cells, style)),
    ...(rows.length > kept.length ? [`... and ${rows.length - kept.length} rows more: --full`] : []),
    ...packPieces(
      [
        caption[0]!.toUpperCase() + caption.slice(1),
        ...signs.map((verdict) => `${verdictShapes[verdict]} ${verdict}`),
        ...(fragile ? ["* fragile"] : []),
      ],
      frame.width,
      { between: "; ", rest: "  " },
    ).map(frame.style.faint),
  ];
}

function nameWidth(rows: readonly (readonly Cell[])[]): number {
  const longest = Math.max(0, ...rows.map(([cell]) => rowName(cell!).length));
  return Math.min(24, Math.max(labelWidth, longest + 2));
}

function rowName({ trajectory, subject }: Cell): string {
  return `${shortName(trajectory)} ${subject}`;
}

function cellText(cell: Cell, decimals: number): string {
  const sign = verdictShapes[cell.verdict ?? "too few runs"];
  return [sign, ...differencePieces(cell, decimals)].join(" ") + (cell.fragile.length > 0 ? "*" : "");
}

function boardRow(
  cells: readonly Cell[],
  { column, names, decimals, frame }: { column: number; names: number; decimals: number; frame: TextFrame },
): string {
  const name = rowName(cells[0]!);
  const parts = measureAxes(cells[0]!.metric).map((axis) => {
    const cell = cells.find((each) => each.axis === axis);
    if (cell === undefined) return { text: noValue, bold: false };
    const text = cellText(cell, decimals);
    return { text: text.length < column ? text : text.slice(0, column - 1), bold: isClaim(cell) };
  });
  const shown = parts.map(({ text, bold }) =>
    bold ? frame.style.heading(text) + " ".repeat(Math.max(0, column - text.length)) : padRight(text, column),
  );
  return padRight(name.length < names ? name : `${name.slice(0, names - 2)}…`, names) + shown.join("").trimEnd();
}

/** Runs left out and doubtful ones, one line each, by what was found. */
function lostPart(evaluation: CampaignEvaluation, frame: TextFrame, most: number): string[] {
  const { runs } = evaluation;
  const used = runs.filter((run) => run.used);
  const head = `${used.length} of ${runs.length} runs used`;
  const findings = [
    ...groupsOf(
      runs.filter((run) => !run.used),
      (run) => run.excluded_because ?? "left out",
    ),
    ...groupsOf(
      used.filter((run) => doubtsOf(run).length > 0),
      (run) => `doubt: ${doubtsOf(run).join(", ")}`,
    ),
  ];
  const lines = findings.map(([why, ids]) => `${namesText(ids)}: ${plainText(why)}`);
  const short =
    lines.length <= most
      ? lines
      : [...lines.slice(0, most - 1), `... and ${lines.length - most + 1} findings more: --full`];
  const labels = namedConfigurations(evaluation).filter(({ role }) => role !== null);
  const counts = labels.map(({ key, name }) => `${name} ${used.filter((run) => run.configuration === key).length}`);
  return [
    ...cut(
      wrapText(`${head} (${counts.join("; ")})${lines.length === 0 ? ", none of them doubtful." : ":"}`, frame.width),
      2,
      frame,
    ),
    ...short
      .flatMap((line) => cut(wrapText(line, frame.width - 2), 1, { ...frame, width: frame.width - 2 }))
      .map((line) => `  ${line}`),
  ];
}

function doubtsOf({ checks }: RunEvaluation): string[] {
  return [
    ...new Set(checks.filter((check) => check.severity === "doubt" && isOpenFinding(check)).map(({ code }) => code)),
  ];
}

function groupsOf(runs: readonly RunEvaluation[], why: (run: RunEvaluation) => string): [string, string[]][] {
  const groups = new Map<string, string[]>();
  for (const run of runs) groups.set(why(run), [...(groups.get(why(run)) ?? []), run.id]);
  return [...groups];
}

function namesText(ids: readonly string[]): string {
  const shown = ids.slice(0, 3).map((id) => shortName(id));
  return ids.length <= 3 ? shown.join(", ") : `${shown.join(", ")} and ${ids.length - 3} more`;
}

/** Doubts of the audit, and the runs that would settle what is open. */
function nextPart(evaluation: CampaignEvaluation, { width, style }: TextFrame): string[] {
  const family = familyCells(evaluation);
  const doubts = evaluation.audit.findings.filter(({ severity }) => severity === "doubt").map(({ code }) => code);
  const open = family.filter((cell) => isOpen(cell) && cell.runs_needed !== null);
  const fragile = family.filter((cell) => cell.fragile.length > 0).length;
  const needed = Math.max(0, ...open.map((cell) => cell.runs_needed!.middle));
  const lines = [
    ...(doubts.length === 0
      ? []
      : [`Settle first what else could have made the difference: ${[...new Set(doubts)].join(", ")} (--audit).`]),
    ...(open.length === 0
      ? []
      : [
          `${open.length} of ${family.length} cells ${open.length === 1 ? "is" : "are"} open: up to about ${needed} runs per configuration in all would show the smallest difference.`,
        ]),
    ...(fragile === 0
      ? []
      : [
          `${fragile === 1 ? "1 verdict is" : `${fragile} verdicts are`} fragile: fly more before you build on ${fragile === 1 ? "it" : "them"}.`,
        ]),
    ...(open.length + fragile === 0 ? [] : ["`counterpoise plan` says what to fly next, and in which order."]),
  ];
  if (lines.length === 0) return [];
  return [
    style.heading("What to do next"),
    ...lines.flatMap((line) => wrapText(line, width, { first: "", rest: "  " })),
  ];
}
