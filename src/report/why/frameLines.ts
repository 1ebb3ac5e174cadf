import type { CampaignEvaluation } from "../../contract/evaluation.ts";
import type { FrameEffect } from "../../contract/reasons.ts";
import { joinWords } from "../../words/lists.ts";
import { alongText, judgedAt } from "../../words/places.ts";
import { shortName } from "../text/nameText.ts";
import { fixed } from "../text/numberText.ts";
import { lengthText } from "../text/sizeText.ts";

/** Whether the effector's verdicts would stand if tool point and arm base were off by their uncertainty, in sentences. */
export function frameLines({ reasons, settings }: CampaignEvaluation): string[] {
  const { frames } = reasons;
  const [first] = frames;
  if (first === undefined) return [];
  const { length, angle } = first.uncertainty;
  const along = ({ trajectory, axis }: FrameEffect): string =>
    alongText([axis], judgedAt(settings.judged_in, { trajectory, subject: "effector" }));
  const off = `If tool point and arm base were off by up to ${lengthText(length)} and ${fixed((angle * 180) / Math.PI, 1)}° on every axis at once, the same in every run`;
  const moved = frames.filter((one) => changes(one).length > 0);
  const farthest = frames.reduce((most, one) => (one.worst > most.worst ? one : most), first);
  const stands = moved.length > 0 && !moved.includes(farthest) ? ", where the verdict stands" : "";
  const reach = `the difference moves by ${lengthText(farthest.worst)} at most (${shortName(farthest.trajectory)}, ${along(farthest)}${stands})`;
  if (moved.length === 0) {
    const all =
      frames.length === 1
        ? "the verdict of the effector's cell"
        : `the verdicts of all ${frames.length} effector cells`;
    return [`${off}, ${all} would stand at both ends of the difference: ${reach}.`];
  }
  return [
    `${off}, at least ${moved.length} of ${frames.length} effector verdicts could be others; ${reach}:`,
    ...moved.map(
      (one) =>
        `- ${shortName(one.trajectory)}, effector ${along(one)}: "${one.verdict}" could be ${joinWords(changes(one).map((verdict) => `"${verdict}"`))} (moves by up to ${lengthText(one.worst)}, most by ${parameterWords(one.largest.parameter)}).`,
    ),
  ];
}

function changes({ verdict, lowest, highest }: FrameEffect): string[] {
  return [...new Set([lowest.verdict, highest.verdict])].filter((other) => other !== verdict);
}

/** "tool_point.x" as a person says it. */
export function parameterWords(parameter: string): string {
  const [what = "", axis = ""] = parameter.split(".");
  return what.endsWith("_turn")
    ? `the turn of the ${what.slice(0, -5).replaceAll("_", " ")} about ${axis}`
    : `the ${what.replaceAll("_", " ")} along ${axis}`;
}
