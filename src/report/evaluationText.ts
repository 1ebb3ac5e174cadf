import { type CampaignEvaluation, type HoverFigures, pairsOf } from "../contract/evaluation.ts";
import { axes } from "../foundation/tracks.ts";
import { answerSentence } from "./answerSentence.ts";
import { auditFindings } from "./audit/auditFindings.ts";
import { auditText } from "./auditText.ts";
import { costText } from "./costLines.ts";
import { findingsText } from "./findingsText.ts";
import { imbalanceSentences } from "./imbalanceSentences.ts";
import { caution } from "./noAnswer.ts";
import { familyCells, type NamedConfiguration, namedConfigurations } from "./runGroups.ts";
import { settleText } from "./settleText.ts";
import { summaryText, titleText } from "./summaryText.ts";
import { plainText, type TableRow, type TextFrame, textFrame, textTable, wrapText } from "./text/layout.ts";
import { decimalsFor, noValue, type Spread, spreadOf, spreadText } from "./text/numbers.ts";
import { trackingText } from "./trackingText.ts";
import { verdictBoard } from "./verdictBoard.ts";
import { budgetLines, componentLines, frameLines, movingLines, toFlightLines } from "./why/lines.ts";
import { synchronousLines } from "./why/synchronousLines.ts";

const millimetres = 1000;
type JudgedSubject = "vehicle" | "effector";

interface Block {
  readonly configuration: NamedConfiguration;
  readonly figures: readonly HoverFigures[];
}

/** Hover drift in the hold windows of all used runs, over all trajectories: a table per subject, a block per configuration. */
function hoverText(evaluation: CampaignEvaluation, frame: TextFrame): string[] {
  const { width, style } = frame;
  const tables = (["vehicle", "effector"] as const)
    .map((subject) => subjectTable(evaluation, subject, width))
    .filter((table) => table !== null);
  if (tables.length > 0) {
    const remarks = new Set(tables.flatMap((table) => table.remarks));
    return [
      style.heading("Hover drift"),
      ...tables.flatMap(({ lines }, index) => (index > 0 ? ["", ...lines] : lines)),
      ...[...remarks].flatMap((remark) => wrapText(remark, width, { first: "", rest: "  " }).map(style.faint)),
    ];
  }
  if (evaluation.runs.every((run) => !run.used)) return [];
  const none = "n/a: no used run has a hold window (the commands never rest long enough).";
  return [style.heading("Hover drift"), ...wrapText(none, width)];
}

function subjectTable(
  evaluation: CampaignEvaluation,
  subject: JudgedSubject,
  width: number,
): { readonly lines: string[]; readonly remarks: string[] } | null {
  const blocks = namedConfigurations(evaluation).flatMap((configuration): Block[] => {
    const used = evaluation.runs.filter((run) => run.used && run.configuration === configuration.key);
    const figures = used.map((run) => run.hold?.[subject]).filter((figure) => figure !== undefined);
    return used.length === 0 ? [] : [{ configuration, figures }];
  });
  const all = blocks.flatMap(({ figures }) => figures);
  if (all.length === 0) return null;
  const decimals = decimalsFor(
    all
      .flatMap((hover) => axes.flatMap((axis) => [hover[axis].bias, hover[axis].sd]))
      .map((value) => value * millimetres),
  );
  const slopeDecimals = decimalsFor(all.flatMap((hover) => axes.map((axis) => (hover[axis].slope ?? 0) * millimetres)));
  const rows = blocks.flatMap((block) => blockRows(block, { decimals, slopeDecimals }));
  const truth = subject === "vehicle" ? evaluation.settings.truth.vehicle : evaluation.settings.truth.effector;
  const caption = `${subject === "vehicle" ? "Vehicle" : "Effector"}: in the hold window over all trajectories, mm; mean over runs ± sd between runs. Truth: motion capture ${plainText(truth ?? "n/a")}.`;
  return { lines: [...wrapText(caption, width), ...textTable(axes, rows, width)], remarks: remarksOf(blocks) };
}

function blockRows(
  { configuration, figures }: Block,
  { decimals, slopeDecimals }: { decimals: number; slopeDecimals: number },
): TableRow[] {
  if (figures.length === 0) return [{ words: `${configuration.name}, n = 0: no used run has a hold window` }];
  const cells = (of: (axis: (typeof axes)[number]) => Spread | null, digits: number): string[] =>
    axes.map((axis) => spreadText(of(axis), digits, millimetres));
  const radius = (about: "about_mean" | "about_setpoint", which: "r50" | "r95"): string =>
    spreadText(spreadOf(figures.map((hover) => hover[about][which])), decimals, millimetres);
  return [
    { words: `${configuration.name}, n = ${figures.length}` },
    { label: "  bias", cells: cells((axis) => spreadOf(figures.map((hover) => hover[axis].bias)), decimals) },
    { label: "  sd", cells: cells((axis) => spreadOf(figures.map((hover) => hover[axis].sd)), decimals) },
    {
      label: "  slope, mm/s",
      cells: cells((axis) => spreadOf(figures.map((hover) => hover[axis].slope)), slopeDecimals),
    },
    { label: "  clear of 0", cells: axes.map((axis) => clearOfZero(figures.map((hover) => hover[axis].slope_ci))) },
    {
      indent: 2,
      words: `horizontal, about the setpoint: R50 ${radius("about_setpoint", "r50")}, R95 ${radius("about_setpoint", "r95")}`,
    },
    {
      indent: 2,
      words: `horizontal, about the mean: R50 ${radius("about_mean", "r50")}, R95 ${radius("about_mean", "r95")}`,
    },
  ];
}

/** In how many runs the slope's own interval leaves 0 out, of those that have one. */
function clearOfZero(intervals: readonly (readonly [number, number] | null)[]): string {
  const known = intervals.filter((interval) => interval !== null);
  if (known.length === 0) return noValue;
  return `${known.filter(([low, high]) => low > 0 || high < 0).length} of ${known.length} runs`;
}

function remarksOf(blocks: readonly Block[]): string[] {
  const remarks = ["Clear of 0: runs whose 95 % interval of the slope leaves 0 out."];
  const slopes = blocks.flatMap(({ figures }) => figures.flatMap((hover) => axes.map((axis) => hover[axis].slope)));
  if (blocks.some(({ figures }) => figures.length === 1))
    remarks.push(`± ${noValue}: one run has no spread between runs.`);
  if (slopes.some((slope) => slope === null))
    remarks.push("Slopes are of fewer runs, or missing, where a hold window is too short or too gappy for one.");
  return remarks;
}

/**
 * An evaluation for a person who has to decide. First the answer in words and the board of verdicts with what is fragile
 * in them; then the runs that were left out or are doubtful and why, what else could have made the difference, what it would
 * take to settle what is open, and why it is so; then what the verdicts rest on: runs used, tracking error per trajectory,
 * hover drift. Millimetres, milliseconds.
 *
 * Verdicts are those of the family in `cells`; without cells it says why there are none. Means and standard deviations are
 * over runs, never over samples or cycles.
 *
 * @param options.width   columns; default 80, at least 60
 * @param options.colour  emphasis by ANSI sequences; the words carry everything without it
 * @param options.notes   list the notes instead of counting them
 * @param options.audit   the whole audit instead of its findings
 * @returns lines that end in a line break
 */
export function evaluationText(
  evaluation: CampaignEvaluation,
  options: { width?: number; colour: boolean; notes?: boolean; audit?: boolean },
): string {
  const frame = textFrame(options);
  const flown = new Set(evaluation.runs.map(({ trajectory }) => trajectory));
  const declared = Object.keys(evaluation.settings.trajectories).filter((name) => flown.has(name));
  const trajectories = [...new Set([...declared, ...flown])];
  const sections = [
    titleText(evaluation, frame),
    ...pairsOf(evaluation).flatMap((pair) => [wrapText(answerSentence(pair), frame.width), verdictBoard(pair, frame)]),
    findingsText(evaluation, frame, { notes: options.notes ?? false }),
    ...auditPart(evaluation, frame, options.audit ?? false),
    settleText(evaluation, frame),
    whyText(evaluation, frame),
    costText(evaluation, frame),
    summaryText(evaluation, frame),
    ...trajectories.map((trajectory) => trackingText(evaluation, trajectory, frame)),
    hoverText(evaluation, frame),
    wrapText(caution, frame.width).map(frame.style.faint),
  ].filter((lines) => lines.length > 0);
  return `${sections.map((lines) => lines.join("\n")).join("\n\n")}\n`;
}

/** Findings only where there are differences that they could explain; the whole audit whenever it is asked for. */
function auditPart(evaluation: CampaignEvaluation, frame: TextFrame, whole: boolean): string[][] {
  if (whole) return [auditText(evaluation, frame)];
  return familyCells(evaluation).length === 0 ? [] : [auditFindings(evaluation, frame)];
}

/**
 * Why the differences are as they are: what moves as flown, of what the effector's error is made, how far the frames' uncertainty could move the
 * verdicts, what is in step with the arm, what the counterweights still leave, and whether more runs or more cycles help.
 *
 * @returns lines of at most `frame.width` columns; none where there is nothing to tell
 */
function whyText(evaluation: CampaignEvaluation, frame: TextFrame): string[] {
  const { width, style } = frame;
  const sentences = (lines: readonly string[]): string[] =>
    lines.flatMap((line) => wrapText(line, width, { first: "", rest: "  " }));
  const parts = [
    movingLines(evaluation, frame),
    toFlightLines(evaluation, frame),
    budgetLines(evaluation, frame),
    sentences(frameLines(evaluation)),
    synchronousLines(evaluation, frame),
    sentences(imbalanceSentences(evaluation)),
    sentences(componentLines(evaluation)),
  ].filter((lines) => lines.length > 0);
  if (parts.length === 0) return [];
  return [style.heading("Why"), ...parts.flatMap((lines, index) => (index > 0 ? ["", ...lines] : lines))];
}
