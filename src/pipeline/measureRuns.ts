import { commonStretch, type Stretch } from "../alignment/logged/commonStretch.ts";
import type { Effects } from "./effects.ts";
import { type MeasuredRun, measureOne, type RunJob } from "./measureOne.ts";

/** How the runs are worked through: in turn, or side by side (`runPool`). Results come in the order of the jobs. */
export type MeasureRuns = (
  jobs: readonly RunJob[],
  effects: Effects,
  onDone: (done: number, run: string) => void,
) => Promise<MeasuredRun[]>;

/** Runs one after the other, in this thread. */
export const inTurn: MeasureRuns = async (jobs, effects, onDone) => {
  const measured: MeasuredRun[] = [];
  for (const job of jobs) {
    onDone(measured.length, job.declaration.id);
    measured.push(await measureOne(job, effects));
  }
  return measured;
};

/**
 * Measures all runs. Those of a logged trajectory without a period are read twice: first for when each arrived and landed, then,
 * once the stretch of command is known that all of them flew, for their figures over it.
 */
export async function measureRuns(
  jobs: readonly RunJob[],
  measure: MeasureRuns,
  effects: Effects,
  onDone: (done: number, run: string, total: number) => void,
): Promise<MeasuredRun[]> {
  const twice = jobs.filter(isWithoutPeriod);
  const total = jobs.length + twice.length;
  const first = await measure(jobs, effects, (done, run) => onDone(done, run, total));
  const stretches = stretchesOf(twice, first);
  const decided = twice.flatMap((job) => {
    const stretch = stretches.get(job.declaration.id);
    return stretch === undefined ? [] : [{ ...job, stretch }];
  });
  if (decided.length === 0) return first;
  const second = await measure(decided, effects, (done, run) => onDone(jobs.length + done, run, total));
  const byId = new Map(second.map((run) => [run.declaration.id, run]));
  return first.map((run) => byId.get(run.declaration.id) ?? run);
}

function isWithoutPeriod({ campaign, declaration }: RunJob): boolean {
  const trajectory = campaign.trajectories[declaration.trajectory];
  return trajectory?.shape === "logged" && trajectory.period === null;
}

/** What each run of a logged trajectory without a period is scored over, by id; runs that could not be aligned are not in it. */
function stretchesOf(jobs: readonly RunJob[], looked: readonly MeasuredRun[]): Map<string, Stretch> {
  const stretches = new Map<string, Stretch>();
  for (const trajectory of new Set(jobs.map(({ declaration }) => declaration.trajectory))) {
    const flown = looked.flatMap(({ declaration, flight, checks }) => {
      if (declaration.trajectory !== trajectory || flight === null) return [];
      const stands = declaration.exclude === null && declaration.outcome === "completed";
      return [
        { id: declaration.id, flight, counts: stands && checks.every(({ severity }) => severity !== "unusable") },
      ];
    });
    for (const [id, stretch] of commonStretch(flown, jobs[0]!.settings)) stretches.set(id, stretch);
  }
  return stretches;
}
