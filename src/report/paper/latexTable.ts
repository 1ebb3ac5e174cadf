import type { PaperTable } from "./paperTables.ts";

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
