import { measureOf } from "../../catalogue/measures.ts";
import type { Audit } from "../../contract/audit.ts";
import type { CampaignEvaluation } from "../../contract/evaluation.ts";
import { inShown, unitName } from "../../words/amounts.ts";
import { axisWord } from "../../words/places.ts";
import type { TextFrame } from "../text/frame.ts";
import { shortName } from "../text/nameText.ts";
import { decimalsFor, fixed, noValue } from "../text/numberText.ts";
import { type TableRow, textTable } from "../text/textTable.ts";
import { wrapText } from "../text/wrapText.ts";
import type { LetteredConfiguration } from "./auditLetters.ts";

type Contrast = Audit["sham"][number]["balancing"];

/**
 * What balancing does at the same mass and what the mass alone does: a difference with half its 95 % interval for each place
 * of the family. Nothing without a sham.
 */
export function auditSham(
  { audit, settings }: CampaignEvaluation,
  letters: readonly LetteredConfiguration[],
  { width, style }: TextFrame,
): string[] {
  if (audit.sham.length === 0) return [];
  const letterOf = (key: string | null): string => letters.find((each) => each.key === key)?.letter ?? "";
  const [baseline, candidate, sham] = [settings.baseline, settings.candidate, settings.sham].map(letterOf);
  const { unit } = measureOf(settings.primary);
  const decimals = decimalsFor(
    audit.sham
      .flatMap(({ balancing, mass }) => [balancing, mass].flatMap((own) => [own.difference ?? 0, half(own) ?? 0]))
      .map((value) => inShown(value, unit)),
  );
  const text = (value: number | null): string => (value === null ? noValue : fixed(inShown(value, unit), decimals));
  const trajectories = [...new Set(audit.sham.map(({ trajectory }) => trajectory))];
  const rows = trajectories.flatMap((trajectory): TableRow[] => [
    { words: shortName(trajectory) },
    ...audit.sham
      .filter((row) => row.trajectory === trajectory)
      .map(({ subject, axis, values, balancing, mass }) => ({
        label: `  ${subject} ${axisWord(axis, "world")}`,
        cells: [
          String(values.length),
          text(balancing.difference),
          text(half(balancing)),
          text(mass.difference),
          text(half(mass)),
        ],
      })),
  ]);
  const caption = `Balance is ${candidate} - ${sham}: what balancing does at the same mass; mass is ${sham} - ${baseline}: what the mass alone does. ${unitName(unit)}, ± half the 95 % interval, each by itself; n runs of ${sham}. Exploratory: no verdict.`;
  return [
    style.heading("Balance or mass"),
    ...wrapText(caption, width),
    ...textTable(["n", "balance", "±", "mass", "±"], rows, width),
  ];
}

/** Half the interval, which lies evenly about the difference. */
function half({ ci95 }: Contrast): number | null {
  return ci95 === null ? null : (ci95[1] - ci95[0]) / 2;
}
