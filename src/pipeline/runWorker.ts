import { parentPort } from "node:worker_threads";
import { diskEffects } from "./effects.ts";
import { type Measurement, measureOne, type RunJob } from "./measureOne.ts";

/** What a worker answers to one job. An error's class does not survive the journey, so it travels as its stack. */
export type WorkerAnswer =
  | { readonly index: number; readonly measured: Measurement }
  | { readonly index: number; readonly fault: string };

parentPort?.on("message", async ({ index, job }: { index: number; job: RunJob }) => {
  let answer: WorkerAnswer;
  try {
    answer = { index, measured: await measureOne(job, diskEffects) };
  } catch (error) {
    answer = { index, fault: error instanceof Error ? (error.stack ?? error.message) : String(error) };
  }
  parentPort?.postMessage(answer);
});
