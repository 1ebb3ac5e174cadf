import type { LogReader } from "../LogReader.ts";

export const parquetReader: LogReader = undefined as unknown as LogReader;
