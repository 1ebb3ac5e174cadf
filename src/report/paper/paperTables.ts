import { measureOf } from "../../catalogue/measures.ts";
import type { Cell } from "../../contract/cell.ts";
import type { CampaignEvaluation } from "../../contract/evaluation.ts";
import { inShown, percentPieces, unitName } from "../../words/amounts.ts";
import { axisAt } from "../../words/places.ts";
import { boardDecimals, differencePieces } from "../boardCell.ts";
import { familyCells } from "../runGroups.ts";
import { fixed, noValue, probabilityText } from "../text/numbers.ts";

/** A table of words, for a page as for a paper: heads, rows, and which columns hold numbers. */
export interface PaperTable {
  readonly caption: string;
  readonly heads: readonly string[];
  readonly rows: readonly (readonly string[])[];
  readonly numeric: readonly number[];
}

/** The verdicts of the family, a cell a row: means, difference with its interval, change, p, verdict, and what speaks against it. */
export function verdictTable(evaluation: CampaignEvaluation): PaperTable {
  const family = familyCells(evaluation);
  const decimals = family.length === 0 ? 0 : boardDecimals(family);
  const unit = family[0]?.unit ?? "m";
  const mean = (side: Cell["baseline"]): string =>
    side.mean === null ? noValue : fixed(inShown(side.mean, unit), decimals);
  return {
    caption: `Verdicts: ${measureOf(evaluation.settings.primary).label}, candidate less baseline, in ${unitName(unit)}`,
    heads: [
      "trajectory",
      "subject",
      "axis",
      "runs",
      "baseline",
      "candidate",
      "difference",
      "95 % interval",
      "change (95 % interval)",
      "p among family",
      "verdict",
      "beside it",
    ],
    rows: family.map((cell) => {
      const [difference = noValue, interval = noValue] = differencePieces(cell, decimals);
      return [
        cell.trajectory,
        cell.subject,
        axisAt(evaluation.settings.judged_in, cell),
        `${cell.baseline.n} v ${cell.candidate.n}`,
        mean(cell.baseline),
        mean(cell.candidate),
        difference,
        interval,
        percentPieces(cell).join(" ") || noValue,
        cell.p_family === null ? noValue : probabilityText(cell.p_family).replace(/^p /, ""),
        cell.verdict ?? noValue,
        [...(cell.doubts.length > 0 ? [`doubted for ${cell.doubts.join(", ")}`] : []), ...cell.fragile].join("; "),
      ];
    }),
    numeric: [4, 5, 6, 7, 8, 9],
  };
}

const escapes: Readonly<Record<string, string>> = {
  "\\": "\\textbackslash{}",
  "~": "\\textasciitilde{}",
  "^": "\\textasciicircum{}",
};

/** Words as LaTeX sets them. */
export function latexText(text: string): string {
  return text
    .replace(/[\\~^]|[&%$#_{}]/g, (character) => escapes[character] ?? `\\${character}`)
    .replace(/–/g, "--")
    .replace(/−/g, "$-$")
    .replace(/(^|[\s[(,])-(?=\d)/g, "$1$-$");
}

/**
 * A table for a paper in the style of `booktabs`. A column of plain numbers is one of `siunitx` (S), set to the decimal marker; what
 * is no number in it stands in braces.
 */
export function latexTable({ caption, heads, rows, numeric }: PaperTable, label: string): string {
  const isPlain = (text: string): boolean => /^[-+]?\d+(?:\.\d+)?$/.test(text);
  const plain = heads.map((_, k) => numeric.includes(k) && rows.some((row) => isPlain(row[k]!)));
  const cell = (text: string, k: number): string => {
    if (!plain[k]) return latexText(text);
    return isPlain(text) ? text : `{${latexText(text)}}`;
  };
  const format = (k: number): string => {
    if (!plain[k]) return numeric.includes(k) ? "r" : "l";
    const numbers = rows.map((row) => row[k]!).filter(isPlain);
    const before = Math.max(...numbers.map((text) => text.replace(/^[-+]/, "").split(".")[0]!.length));
    const after = Math.max(...numbers.map((text) => (text.split(".")[1] ?? "").length));
    return `S[table-format=${numbers.some((text) => text.startsWith("-")) ? "-" : ""}${before}.${after}]`;
  };
  return `% needs \\usepackage{booktabs} and \\usepackage{siunitx}
\\begin{table}
\\centering
\\caption{${latexText(caption)}}
\\label{${label}}
\\begin{tabular}{${heads.map((_, k) => format(k)).join(" ")}}
\\toprule
${heads.map((head, k) => (plain[k] ? `{${latexText(head)}}` : latexText(head))).join(" & ")} \\\\
\\midrule
${rows.map((row) => `${row.map(cell).join(" & ")} \\\\`).join("\n")}
\\bottomrule
\\end{tabular}
\\end{table}
`;
}
