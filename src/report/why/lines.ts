import type { CampaignEvaluation } from "../../contract/evaluation.ts";
import type { Components, ConfigurationBudget, FrameEffect } from "../../contract/reasons.ts";
import { joinWords } from "../../words/amounts.ts";
import { alongText, judgedAt } from "../../words/places.ts";
import { type MovingParagraph, movingSentences, placeText } from "../movingSentences.ts";
import { namedConfigurations } from "../runGroups.ts";
import { plainText, type TextFrame, textTable, wrapText } from "../text/layout.ts";
import { shortName } from "../text/nameText.ts";
import { allOf, decimalsFor, fixed, lengthText, noValue, sizeRange } from "../text/numbers.ts";
import { toFlightSentences } from "../toFlightSentences.ts";

/** Sentences, each with its list. */
function paragraphLines(paragraphs: readonly MovingParagraph[], width: number): string[] {
  return paragraphs.flatMap(({ text, items }) => [
    ...wrapText(text, width, { first: "", rest: "  " }),
    ...items.flatMap((item) => wrapText(item, width, { first: "- ", rest: "  " })),
  ]);
}

/** Bench and flights side by side; none without a bench. */
export function toFlightLines(evaluation: CampaignEvaluation, { width }: TextFrame): string[] {
  return paragraphLines(toFlightSentences(evaluation), width);
}

/** What moves as flown: sentences, and per axis and configuration the apparent moving mass with its interval. */
export function movingLines(evaluation: CampaignEvaluation, { width }: TextFrame): string[] {
  const sentences = paragraphLines(movingSentences(evaluation), width);
  const names = namedConfigurations(evaluation);
  const { moving } = evaluation.reasons;
  if (moving.length === 0) return sentences;
  const inGrams = moving.every(({ unit }) => unit === "kg");
  const mixed = !inGrams && moving.some(({ unit }) => unit === "kg");
  const unitText = inGrams ? "g" : mixed ? "g, and % of the whole where no mass is declared" : "% of the whole";
  const rows = moving.flatMap((effect) => {
    const isMass = effect.unit === "kg";
    const text = (value: number): string =>
      isMass ? fixed(1000 * value, 0) : `${fixed(100 * value, 1)}${mixed ? " %" : ""}`;
    return [
      { words: placeText(evaluation, effect) },
      ...Object.entries(effect.configurations).map(([key, { n, mean, ci95, imaginary, expected }]) => ({
        label: `  ${names.find((each) => each.key === key)?.name ?? key}`,
        cells: [
          String(n),
          text(mean),
          ci95 === null ? noValue : `${text(ci95[0])} to ${text(ci95[1])}`,
          expected === null || !isMass ? noValue : text(expected),
          text(imaginary),
        ],
      })),
    ];
  });
  const caption = `Apparent moving mass, ${unitText}: what moves, times its travel over the tool's; 0 where balanced, below 0 where over-balanced. Mean over n runs; what the declared masses make; and, beside it, the part out of step, which no mass makes.`;
  return [
    ...sentences,
    "",
    ...wrapText(caption, width),
    ...textTable(["n", "moves", "95 %", "expected", "beside"], rows, width),
  ];
}

const parts = ["vehicle", "attitude", "arm"] as const;

/**
 * Of what the effector's error is made, per trajectory and configuration, over the three axes together: rms in mm and the
 * share of each part in the mean square.
 */
export function budgetLines(evaluation: CampaignEvaluation, { width }: TextFrame): string[] {
  const { budget } = evaluation.reasons;
  if (budget.length === 0) return [];
  const names = namedConfigurations(evaluation);
  const decimals = decimalsFor(budget.map(({ norm }) => norm.rms * 1000));
  const rows = budget.map((one) => ({
    label: `${plainText(one.trajectory)}, ${names.find(({ key }) => key === one.configuration)?.name ?? plainText(one.configuration)}`,
    cells: cellsOf(one, decimals),
  }));
  const caption =
    "Of what the effector's error is made: rms, mm, and the share of each part in its mean square. Vehicle: its distance from the setpoint; tilt: its attitude times the arm's reach; arm: the arm's own error. A share below 0 means that this part makes up for another.";
  return [...wrapText(caption, width), ...textTable(["rms", "vehicle", "tilt", "arm"], rows, width)];
}

function cellsOf({ norm }: ConfigurationBudget, decimals: number): string[] {
  const { rms, shares } = norm;
  return [
    fixed(rms * 1000, decimals),
    ...parts.map((part) => (shares === null ? noValue : `${fixed(shares[part] * 100, 0)} %`)),
  ];
}

/** Whether more runs or more cycles would narrow the intervals, in sentences. */
export function componentLines({ reasons }: CampaignEvaluation): string[] {
  const { components } = reasons;
  if (components.length === 0) return [];
  const cycles = components.filter(({ helps }) => helps === "more runs or more cycles");
  const all = (count: number): string => allOf(count, "cell", "cells");
  const runsAlone = components.length - cycles.length;
  const first =
    cycles.length === 0
      ? `In ${all(components.length)} the runs differ by more than their cycles explain: only more runs narrow the intervals, longer runs do not.`
      : runsAlone === 0
        ? `In ${all(components.length)} longer runs (more cycles) would narrow the intervals as well as more runs.`
        : `In ${cycles.length} of ${components.length} cells longer runs (more cycles) would narrow the intervals too; in the others only more runs do.`;
  const worst = components.reduce((most, one) => (one.design_effect > most.design_effect ? one : most));
  return [
    `${first} Standard deviation of a cell's rms between runs ${sizeRange(components.map(betweenRuns))}, between the cycles of a run ${sizeRange(components.map(betweenCycles))} (restricted maximum likelihood).`,
    `Cycles counted as if they were runs would understate the variance up to ${fixed(worst.design_effect, 1)} times.`,
  ];
}

const betweenRuns = ({ between_runs: sd }: Components): number => sd;
const betweenCycles = ({ between_cycles: sd }: Components): number => sd;

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
function parameterWords(parameter: string): string {
  const [what = "", axis = ""] = parameter.split(".");
  return what.endsWith("_turn")
    ? `the turn of the ${what.slice(0, -5).replaceAll("_", " ")} about ${axis}`
    : `the ${what.replaceAll("_", " ")} along ${axis}`;
}
