import type { CampaignEvaluation } from "../contract/evaluation.ts";
import { imbalanceSentences } from "./imbalanceSentences.ts";
import type { TextFrame } from "./text/frame.ts";
import { wrapText } from "./text/wrapText.ts";
import { budgetLines } from "./why/budgetLines.ts";
import { componentLines } from "./why/componentLines.ts";
import { frameLines } from "./why/frameLines.ts";
import { synchronousLines } from "./why/synchronousLines.ts";

/**
 * Why the differences are as they are: of what the effector's error is made, how far the frames' uncertainty could move the
 * verdicts, what is in step with the arm, what the counterweights still leave, and whether more runs or more cycles help.
 *
 * @returns lines of at most `frame.width` columns; none where there is nothing to tell
 */
export function whyText(evaluation: CampaignEvaluation, frame: TextFrame): string[] {
  const { width, style } = frame;
  const sentences = (lines: readonly string[]): string[] =>
    lines.flatMap((line) => wrapText(line, width, { first: "", rest: "  " }));
  const parts = [
    budgetLines(evaluation, frame),
    sentences(frameLines(evaluation)),
    synchronousLines(evaluation, frame),
    sentences(imbalanceSentences(evaluation)),
    sentences(componentLines(evaluation)),
  ].filter((lines) => lines.length > 0);
  if (parts.length === 0) return [];
  return [style.heading("Why"), ...parts.flatMap((lines, index) => (index > 0 ? ["", ...lines] : lines))];
}
