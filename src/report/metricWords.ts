import type { CellMetric } from "../contract/cell.ts";

/** The measures of a cell as a sentence names them: what is lower where the flight is steadier. */
export const metricWords: Readonly<Record<CellMetric, string>> = {
  rms: "rms error",
  range: "range of the error",
  sd: "standard deviation of the error",
  synchronous: "synchronous error",
};
