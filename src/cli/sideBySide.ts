import { existsSync } from "node:fs";
import { inTurn, type MeasureRuns, runPool } from "../pipeline/runPool.ts";

/** The built worker lies beside the built commands; run from its sources, the program works without threads. */
const workerFile = new URL("./runWorker.mjs", import.meta.url);

/** Runs side by side where the built worker is there and threads pay, else one after the other. */
export const sideBySide: MeasureRuns = (jobs, effects, onDone) => {
  const pool = existsSync(workerFile) ? runPool(workerFile, jobs.length) : null;
  return (pool ?? inTurn)(jobs, effects, onDone);
};
