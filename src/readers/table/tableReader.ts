import type { LogReader } from "../LogReader.ts";

export const tableReader: LogReader = undefined as unknown as LogReader;
