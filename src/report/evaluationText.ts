import type { CampaignEvaluation } from "../contract/evaluation.ts";
import { answerSentence } from "./answerSentence.ts";
import { auditFindings } from "./audit/auditFindings.ts";
import { auditText } from "./auditText.ts";
import { caution } from "./caution.ts";
import { familyCells } from "./familyCells.ts";
import { findingsText } from "./findingsText.ts";
import { hoverText } from "./hoverText.ts";
import { settleText } from "./settleText.ts";
import { summaryText, titleText } from "./summaryText.ts";
import { type TextFrame, textFrame } from "./text/frame.ts";
import { wrapText } from "./text/wrapText.ts";
import { trackingText } from "./trackingText.ts";
import { verdictBoard } from "./verdictBoard.ts";
import { whyText } from "./whyText.ts";

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
    wrapText(answerSentence(evaluation), frame.width),
    verdictBoard(evaluation, frame),
    findingsText(evaluation, frame, { notes: options.notes ?? false }),
    ...auditPart(evaluation, frame, options.audit ?? false),
    settleText(evaluation, frame),
    whyText(evaluation, frame),
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
