import type { CampaignEvaluation } from "../contract/evaluation.ts";
import { looksText, openingText } from "../words/openingText.ts";
import { auditFindings } from "./audit/auditFindings.ts";
import { auditFitted } from "./audit/auditFitted.ts";
import { auditLetters } from "./audit/auditLetters.ts";
import { auditOrderText } from "./audit/auditOrderText.ts";
import { auditSham } from "./audit/auditSham.ts";
import { blockRows, configurationRows } from "./audit/auditTables.ts";
import type { TextFrame } from "./text/frame.ts";
import { plainText } from "./text/plainText.ts";
import { textTable } from "./text/textTable.ts";
import { wrapText } from "./text/wrapText.ts";

/**
 * The whole audit for a person: findings with what to do, runs per block, the order flown and what a drift would fake by it,
 * masses, packs and lost runs per configuration, the sham's differences, how often it was looked at, what was fitted.
 * Millimetres, grams.
 */
export function auditText(evaluation: CampaignEvaluation, frame: TextFrame): string[] {
  const { width, style } = frame;
  const letters = auditLetters(evaluation);
  const legend = letters.map(({ letter, name }) => `${letter} ${name}`).join("; ");
  const heads = letters.map(({ letter }) => letter);
  const sections = [
    auditFindings(evaluation, frame, { hints: true }),
    [style.heading("Configurations"), ...wrapText(`${legend}.`, width, { first: "", rest: "  " })],
    section(
      "Used runs per block, of those filed, and their mean heading",
      textTable(heads, blockRows(evaluation, letters), width),
      style,
    ),
    auditOrderText(evaluation, letters, frame),
    section(
      "Runs, packs, masses and valid samples",
      textTable(heads, configurationRows(evaluation, letters), width),
      style,
    ),
    auditSham(evaluation, letters, frame),
    [style.heading("Looks"), ...wrapText(looksSentence(evaluation), width)],
    auditFitted(evaluation, frame),
  ].filter((lines) => lines.length > 0);
  return sections.flatMap((lines, index) => (index === 0 ? lines : ["", ...lines]));
}

function section(title: string, lines: readonly string[], style: TextFrame["style"]): string[] {
  return [style.heading(title), ...lines];
}

function looksSentence({ looks }: CampaignEvaluation): string {
  const lost = looks.recorded ? "" : " This look could not be recorded, so the next count may be too low.";
  const opened = looks.opened === undefined ? "" : ` ${plainText(openingText(looks.opened))}`;
  return `${plainText(looksText(looks))}${opened}${lost}`;
}
