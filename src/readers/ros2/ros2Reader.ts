import type { LogReader } from "../LogReader.ts";

export const ros2Reader: LogReader = undefined as unknown as LogReader;
