import type { LogReader } from "../LogReader.ts";

export const ulogReader: LogReader = undefined as unknown as LogReader;
