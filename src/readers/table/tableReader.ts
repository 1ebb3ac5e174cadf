import type { LogReader } from "../LogReader.ts";
import { tabularReader } from "./tabularReader.ts";
import { textTable } from "./textTable.ts";

/** Reads tables written as text: cells parted by commas, semicolons, tabs, bars or blanks, under any heading. */
export const tableReader: LogReader = tabularReader(textTable);
