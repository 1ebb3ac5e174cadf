import { existsSync } from "node:fs";
import { availableParallelism } from "node:os";
import { Worker } from "node:worker_threads";
import { commonStretch, type Stretch } from "../alignment/logged/commonStretch.ts";
import type { Campaign, RunDeclaration } from "../contract/campaign.ts";
import { groundsOf } from "../contract/runGrounds.ts";
import type { Effects } from "./effects.ts";
import { fittedStretch } from "./fittedList.ts";
import { inOtherAxes, type JudgedAxes, judgedAxes } from "./judgedAxes.ts";
import { type MeasuredRun, type Measurement, measureOne, type RunJob } from "./measureOne.ts";
import type { WorkerAnswer } from "./runWorker.ts";

/** Fewer runs than this are not worth starting threads for: a thread loads and warms the program again. */
const fewestRuns = 40;
/** Runs per thread below which another thread does not pay. */
const runsPerThread = 16;
const mostThreads = 8;

/**
 * Works through runs of one campaign side by side, one thread per core. Every run is evaluated by itself, so the result does not depend
 * on the number of threads.
 *
 * @param workerFile  the built worker (runWorker.ts)
 * @returns null where threads would not pay: evaluate in turn
 */
export function runPool(workerFile: URL, runs: number, cores = availableParallelism()): MeasureRuns | null {
  const threads = Math.min(cores, mostThreads, Math.floor(runs / runsPerThread));
  if (runs < fewestRuns || threads < 2) return null;
  return (jobs, _effects, onDone, onMeasured) =>
    new Promise((resolve, reject) => {
      const results: Measurement[] = new Array(jobs.length);
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
        if (index >= jobs.length) return;
        worker.postMessage({ index, job: jobs[index]! });
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
          onMeasured?.(answer.index, answer.measured);
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

/**
 * How the runs are worked through: in turn, or side by side (`runPool`). Results come in the order of the jobs.
 *
 * @param onMeasured  told of each result as soon as it is there, with the place of its job
 */
export type MeasureRuns = (
  jobs: readonly RunJob[],
  effects: Effects,
  onDone: (done: number, run: string) => void,
  onMeasured?: (index: number, measurement: Measurement) => void,
) => Promise<Measurement[]>;

/** Runs one after the other, in this thread. */
export const inTurn: MeasureRuns = async (jobs, effects, onDone, onMeasured) => {
  const measured: Measurement[] = [];
  for (const [k, job] of jobs.entries()) {
    onDone(k, job.declaration.id);
    measured.push(await measureOne(job, effects));
    onMeasured?.(k, measured[k]!);
  }
  return measured;
};

/** The built worker lies beside the built program; run from its sources, it works without threads. */
const builtWorker = new URL("./runWorker.mjs", import.meta.url);

/** Runs side by side where the built worker is there and threads pay, else one after the other. */
export const sideBySide: MeasureRuns = (jobs, ...rest) => {
  const pool = existsSync(builtWorker) ? runPool(builtWorker, jobs.length) : null;
  return (pool ?? inTurn)(jobs, ...rest);
};

/**
 * Measures all runs, each over the stretch and in the axes in which its trajectory is judged. Both are known only once all runs
 * were looked at: those of a logged trajectory without a period are measured again over the stretch of command that all of
 * them flew, those that face different ways in the heading of each.
 */
export async function measureRuns(
  campaign: Campaign,
  common: Pick<RunJob, "manifestPath" | "known" | "settings">,
  measure: MeasureRuns,
  effects: Effects,
  onDone: (done: number, run: string, total: number) => void,
): Promise<{ measured: MeasuredRun[]; judged: JudgedAxes }> {
  if (campaign.runs.length === 0) return { measured: [], judged: {} };
  const { settings } = common;
  const filed = campaign.runs.map(
    (run): RunJob => ({ ...common, ...groundsOf(campaign, run), judgeIn: campaign.judgeIn ?? "world" }),
  );
  const twice = filed.filter(isWithoutPeriod);
  const declared = new Map(campaign.runs.map((run) => [run.id, run]));
  let total = filed.length + twice.length;
  const first = withDeclarations(campaign.runs, await measure(filed, effects, (done, run) => onDone(done, run, total)));
  const stretches = stretchesOf(twice, first, settings);
  const decided = filed.map((job): RunJob => {
    const stretch = stretches.get(job.declaration.id);
    if (stretch === undefined) return job;
    const { window, checks } = stretch;
    return { ...job, stretch: { window, checks } };
  });
  const again = async (which: readonly RunJob[], before: MeasuredRun[]): Promise<MeasuredRun[]> => {
    if (which.length === 0) return before;
    const second = await measure(which, effects, (done, run) => onDone(total - which.length + done, run, total));
    const own = which.map(({ declaration }) => declared.get(declaration.id)!);
    const byId = new Map(withDeclarations(own, second).map((run) => [run.declaration.id, run]));
    return before.map((run) => byId.get(run.declaration.id) ?? run);
  };
  const overStretch = await again(
    decided.filter(({ stretch }) => stretch !== undefined),
    first,
  );
  const judged = judgedAxes(campaign, overStretch, settings);
  const turning = decided.filter((_, k) => inOtherAxes(overStretch[k]!, judged));
  total += turning.length;
  const turned = turning.map((job): RunJob => ({ ...job, judgeIn: "heading" }));
  const measured = await again(turned, overStretch);
  return { measured: measured.map((run) => withWords(run, stretches.get(run.declaration.id))), judged };
}

/** A run of a logged trajectory with the words of how the stretch was found that it is scored over. */
function withWords(run: MeasuredRun, stretch: Stretch | undefined): MeasuredRun {
  if (run.flight === null) return run;
  const choices = stretch === undefined ? {} : { "cycles.stretch": stretch.words };
  return {
    ...run,
    choices: { ...run.choices, ...choices },
    fitted: [...run.fitted, ...fittedStretch(run.declaration, run.cycles, stretch?.words ?? null)],
  };
}

function withDeclarations(runs: readonly RunDeclaration[], measurements: readonly Measurement[]): MeasuredRun[] {
  return measurements.map((measurement, k) => ({ ...measurement, declaration: runs[k]! }));
}

function isWithoutPeriod({ campaign, declaration }: RunJob): boolean {
  const trajectory = campaign.trajectories[declaration.trajectory];
  return trajectory?.shape === "logged" && trajectory.period === null;
}

/** What each run of a logged trajectory without a period is scored over, by id; runs that could not be aligned are not in it. */
function stretchesOf(
  jobs: readonly RunJob[],
  looked: readonly MeasuredRun[],
  settings: RunJob["settings"],
): Map<string, Stretch> {
  const stretches = new Map<string, Stretch>();
  for (const trajectory of new Set(jobs.map(({ declaration }) => declaration.trajectory))) {
    const flown = looked.flatMap(({ declaration, flight, checks }) => {
      if (declaration.trajectory !== trajectory || flight === null) return [];
      const stands = declaration.exclude === null && declaration.outcome === "completed";
      return [
        { id: declaration.id, flight, counts: stands && checks.every(({ severity }) => severity !== "unusable") },
      ];
    });
    for (const [id, stretch] of commonStretch(flown, settings)) stretches.set(id, stretch);
  }
  return stretches;
}
