import { parentPort, workerData } from "node:worker_threads";
import type { Campaign } from "../contract/campaign.ts";
import { diskEffects } from "./effects.ts";
import { measureOne, type RunJob } from "./measureOne.ts";

/** What a worker answers to one job. An error's class does not survive the journey, so it travels as its stack. */
export type WorkerAnswer =
  | { readonly index: number; readonly measured: Awaited<ReturnType<typeof measureOne>> }
  | { readonly index: number; readonly fault: string };

/** The campaign travels once a thread: with each of its jobs, thousands of runs would be copied thousands of times. */
const campaign: Campaign = workerData;

parentPort?.on("message", async ({ index, job }: { index: number; job: Omit<RunJob, "campaign"> }) => {
  let answer: WorkerAnswer;
  try {
    answer = { index, measured: await measureOne({ ...job, campaign }, diskEffects) };
  } catch (error) {
    answer = { index, fault: error instanceof Error ? (error.stack ?? error.message) : String(error) };
  }
  parentPort?.postMessage(answer);
});
