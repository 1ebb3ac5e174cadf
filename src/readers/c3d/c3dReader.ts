import type { LogReader } from "../LogReader.ts";

export const c3dReader: LogReader = undefined as unknown as LogReader;
