import { LogError } from "../../foundation/errors.ts";
import { findLayout } from "./findLayout.ts";
import { openText, type TextFile } from "./openText.ts";
import { splitLine } from "./splitLine.ts";
import type { TableLayout } from "./TableLayout.ts";

/** A table, opened: how it is made up, and its first rows as text. */
export interface OpenTable {
  readonly file: TextFile;
  readonly layout: TableLayout;
  readonly sample: readonly (readonly string[])[];
}

/** Enough for preambles and headings of hundreds of columns. */
const headLength = 256 * 1024;
const sampleLines = 200;

/**
 * Opens a text and finds out how it is made up as a table.
 *
 * @throws LogError  code `log-unreadable`: cannot be opened; holds no table of numbers
 */
export function openTable(path: string): OpenTable {
  const file = openText(path);
  try {
    const head = firstLines(file.head(headLength));
    const layout = findLayout(head, file.mark);
    if (layout === null)
      throw new LogError(
        "log-unreadable",
        `found text that starts with ${shown(head)}, expected a log; as text that is a table, with rows of numbers in at least two columns`,
        {
          place: path,
          hint: "name a log as the recorder wrote it; a table has a line for each instant, its cells parted by commas, semicolons, bars, tabs or blanks",
        },
      );
    const lines = head.split(layout.lineEnd === 10 ? /\r?\n/ : "\r").slice(layout.preamble + layout.headingLines);
    const sample = lines.filter((line) => line.trim() !== "").map((line) => splitLine(line, layout));
    return { file, layout, sample };
  } catch (error) {
    file.close();
    throw error;
  }
}

function firstLines(text: string): string {
  const lines = text.split("\n");
  return lines.length <= sampleLines ? text : `${lines.slice(0, sampleLines).join("\n")}\n`;
}

function shown(text: string): string {
  return JSON.stringify(text.slice(0, 40));
}
