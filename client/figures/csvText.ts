import { csvFormatRows } from "d3";
import type { Drawing } from "./Figure.ts";

export type Table = Drawing["table"];

/** A table as a file of comma-separated values; what is not known is empty. */
export function csvText({ columns, rows }: Table): string {
  const cells = rows.map((row) => row.map((value) => (value === null ? "" : String(value))));
  return `${csvFormatRows([[...columns], ...cells])}\n`;
}
