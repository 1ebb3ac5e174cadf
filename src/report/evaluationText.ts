import type { CampaignEvaluation } from "../contract/evaluation.ts";
import { findingsText } from "./findingsText.ts";
import { hoverText } from "./hoverText.ts";
import { summaryText } from "./summaryText.ts";
import type { TextFrame } from "./text/frame.ts";
import { textStyle } from "./text/textStyle.ts";
import { wrapText } from "./text/wrapText.ts";
import { trackingText } from "./trackingText.ts";

const caution =
  "Counterpoise judges logs. It never says that a vehicle is safe to fly: local aviation rules, site procedures and licensed practice prevail.";
const narrowest = 60;

/**
 * An evaluation for a person who has to decide: what was evaluated, tracking error per trajectory, hover drift, the runs
 * that were left out or are doubtful and why, and the notes. Millimetres, milliseconds.
 *
 * Means and standard deviations are over runs, never over samples or cycles. There is no verdict in it: `cells` is empty.
 *
 * @param options.width   columns; default 80, at least 60
 * @param options.colour  emphasis by ANSI sequences; the words carry everything without it
 * @param options.notes   list the notes instead of counting them
 * @returns lines that end in a line break
 */
export function evaluationText(
  evaluation: CampaignEvaluation,
  options: { width?: number; colour: boolean; notes?: boolean },
): string {
  const frame: TextFrame = { width: Math.max(narrowest, options.width ?? 80), style: textStyle(options.colour) };
  const flown = new Set(evaluation.runs.map(({ trajectory }) => trajectory));
  const declared = Object.keys(evaluation.settings.trajectories).filter((name) => flown.has(name));
  const trajectories = [...new Set([...declared, ...flown])];
  const sections = [
    summaryText(evaluation, frame),
    ...trajectories.map((trajectory) => trackingText(evaluation, trajectory, frame)),
    hoverText(evaluation, frame),
    findingsText(evaluation, frame, { notes: options.notes ?? false }),
    wrapText(caution, frame.width).map(frame.style.faint),
  ].filter((lines) => lines.length > 0);
  return `${sections.map((lines) => lines.join("\n")).join("\n\n")}\n`;
}
