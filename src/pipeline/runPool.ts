import { availableParallelism } from "node:os";
import { Worker } from "node:worker_threads";
import type { MeasuredRun } from "./measureOne.ts";
import type { MeasureRuns } from "./measureRuns.ts";
import type { WorkerAnswer } from "./runWorker.ts";

/** Fewer runs than this are not worth starting threads for: a thread loads and warms the program again. */
const fewestRuns = 40;
/** Runs per thread below which another thread does not pay. */
const runsPerThread = 16;
const mostThreads = 8;

/**
 * Works through runs side by side, one thread per core. Every run is evaluated by itself, so the result does not depend
 * on the number of threads.
 *
 * @param workerFile  the built worker (runWorker.ts)
 * @returns null where threads would not pay: evaluate in turn
 */
export function runPool(workerFile: URL, runs: number, cores = availableParallelism()): MeasureRuns | null {
  const threads = Math.min(cores, mostThreads, Math.floor(runs / runsPerThread));
  if (runs < fewestRuns || threads < 2) return null;
  return (jobs, _effects, onDone) =>
    new Promise((resolve, reject) => {
      const results: MeasuredRun[] = new Array(jobs.length);
      let next = 0;
      let done = 0;
      const workers = Array.from({ length: Math.min(threads, jobs.length) }, () => new Worker(workerFile));
      const stop = (): void => {
        for (const worker of workers) void worker.terminate();
      };
      const fail = (error: Error): void => {
        stop();
        reject(error);
      };
      const give = (worker: Worker): void => {
        const index = next++;
        if (index < jobs.length) worker.postMessage({ index, job: jobs[index] });
      };
      for (const worker of workers) {
        worker.on("error", fail);
        worker.on("exit", (code) => {
          if (done < jobs.length && code !== 0) fail(new Error(`a worker thread ended with code ${code}`));
        });
        worker.on("message", (answer: WorkerAnswer) => {
          if ("fault" in answer) {
            fail(new Error(`run ${jobs[answer.index]!.declaration.id}: ${answer.fault}`));
            return;
          }
          results[answer.index] = answer.measured;
          done++;
          onDone(done, jobs[answer.index]!.declaration.id);
          if (done === jobs.length) {
            stop();
            resolve(results);
          } else give(worker);
        });
        give(worker);
      }
    });
}
