import type { CampaignEvaluation } from "../../contract/evaluation.ts";
import { movingSentences, placeText } from "../movingSentences.ts";
import { namedConfigurations } from "../runGroups.ts";
import type { TextFrame } from "../text/frame.ts";
import { fixed, noValue } from "../text/numberText.ts";
import { textTable } from "../text/textTable.ts";
import { wrapText } from "../text/wrapText.ts";

/** What moves as flown: sentences, and per axis and configuration the apparent moving mass with its interval. */
export function movingLines(evaluation: CampaignEvaluation, { width }: TextFrame): string[] {
  const sentences = movingSentences(evaluation).flatMap(({ text, items }) => [
    ...wrapText(text, width, { first: "", rest: "  " }),
    ...items.flatMap((item) => wrapText(item, width, { first: "- ", rest: "  " })),
  ]);
  const names = namedConfigurations(evaluation);
  const { moving } = evaluation.reasons;
  if (moving.length === 0) return sentences;
  const inGrams = moving.every(({ unit }) => unit === "kg");
  const text = (value: number): string => fixed((inGrams ? 1000 : 100) * value, inGrams ? 0 : 1);
  const rows = moving.flatMap((effect) => [
    { words: placeText(effect) },
    ...Object.entries(effect.configurations).map(([key, { n, mean, ci95, imaginary, expected }]) => ({
      label: `  ${names.find((each) => each.key === key)?.name ?? key}`,
      cells: [
        String(n),
        text(mean),
        ci95 === null ? noValue : `${text(ci95[0])} to ${text(ci95[1])}`,
        expected === null || !inGrams ? noValue : text(expected),
        text(imaginary),
      ],
    })),
  ]);
  const caption = `Apparent moving mass, ${inGrams ? "g" : "% of the whole"}: what moves, times its travel over the tool's; 0 where balanced, below 0 where over-balanced. Mean over n runs; what the declared masses make; and, beside it, the part out of step, which no mass makes.`;
  return [
    ...sentences,
    "",
    ...wrapText(caption, width),
    ...textTable(["n", "moves", "95 %", "expected", "beside"], rows, width),
  ];
}
