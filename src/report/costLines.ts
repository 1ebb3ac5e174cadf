import type { CampaignEvaluation } from "../contract/evaluation.ts";
import { costCautions, costRange, costRows, costSource } from "../words/costWords.ts";
import { costParagraphs } from "./costParagraphs.ts";
import { costOptions, verdictCounts } from "./costSentences.ts";
import { namedConfigurations } from "./runGroups.ts";
import { type TableRow, type TextFrame, textTable, wrapText } from "./text/layout.ts";
import { fixed, noValue } from "./text/numbers.ts";

/**
 * What the mass costs, for a terminal: the options with what they buy, the figures with where they come from, what speaks against
 * them, the largest mass, what is missing, and what to mind.
 *
 * @returns none where nothing is known of it
 */
export function costText(evaluation: CampaignEvaluation, { width, style }: TextFrame): string[] {
  const { costs } = evaluation;
  if (costs === null) return [];
  const names = namedConfigurations(evaluation).filter(({ key }) => costs.configurations[key] !== undefined);
  const sentence = (text: string, first = ""): string[] =>
    wrapText(text, width, first === "" ? { rest: "  " } : { first });
  const rows = costRows(costs).flatMap((row): TableRow[] => [
    { words: row.unit === "" ? row.what : `${row.what}, ${row.unit}` },
    ...names.flatMap(({ key, name }) => {
      const figure = row.of(costs.configurations[key]!);
      if (figure === null) return [];
      const range = costRange(figure, row, fixed);
      return [
        {
          label: `  ${name}`,
          cells: [fixed(row.factor * figure.value, row.decimals), range || noValue, costSource(figure).split(",")[0]!],
        },
      ];
    }),
  ]);
  return [
    style.heading("What it costs"),
    ...sentence(costCautions.all),
    ...optionLines(evaluation).flatMap((line) => sentence(line, "- ")),
    "",
    ...wrapText(
      "Each figure, with its 95 % interval where it was measured, else the range of what it is computed from:",
      width,
    ),
    ...textTable(["figure", "from to", "source"], rows, width),
    ...costs.findings.flatMap(({ severity, code, message, hint }) => [
      "",
      ...wrapText(`${severity === "doubt" ? "doubt" : "note"} ${code}: ${message}`, width, {
        first: "",
        rest: "  ",
      }).map(severity === "doubt" ? style.doubt : (line: string) => line),
      ...wrapText(hint, width, { first: "  ", rest: "  " }),
    ]),
    "",
    ...costParagraphs(evaluation).flatMap(({ text, items }) => [
      ...sentence(text),
      ...items.flatMap((item) => sentence(item, "- ")),
    ]),
    "",
    ...[costCautions.thrust, costCautions.minutes, costCautions.weights].flatMap((text) =>
      sentence(text).map(style.faint),
    ),
  ];
}

/** What each option buys, a line each. */
function optionLines(evaluation: CampaignEvaluation): string[] {
  const names = namedConfigurations(evaluation);
  return costOptions(evaluation).flatMap(({ configuration, left, verdicts }) => {
    const said = [
      ...left.map(({ place, value, unit }) =>
        unit === "kg"
          ? `${fixed(1000 * value, 0)} g left to move (${place})`
          : `${fixed(100 * value, 1)} % of the whole left to move (${place})`,
      ),
      ...(verdicts === null ? [] : [`verdicts: ${verdictCounts(verdicts)}`]),
    ];
    const name = names.find(({ key }) => key === configuration)?.name ?? configuration;
    return said.length === 0 ? [] : [`${name}: ${said.join("; ")}`];
  });
}
