import { csvFormatRows } from "d3";
import { csvField } from "../../src/foundation/csvField.ts";
import type { Drawing } from "./Figure.ts";

export type Table = Drawing["table"];

/** A table as a file of comma-separated values; what is not known is empty. */
export function csvText({ columns, rows }: Table): string {
  return `${csvFormatRows([columns.map(csvField), ...rows.map((row) => row.map(csvField))])}\n`;
}
