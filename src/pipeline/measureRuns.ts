import { commonStretch, type Stretch } from "../alignment/logged/commonStretch.ts";
import type { Effects } from "./effects.ts";
import { inOtherAxes, type JudgedAxes, judgedAxes } from "./judgedAxes.ts";
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
 * Measures all runs, each over the stretch and in the axes in which its trajectory is judged. Both are known only once all runs
 * were looked at: those of a logged trajectory without a period are measured again over the stretch of command that all of
 * them flew, those that face different ways in the heading of each.
 */
export async function measureRuns(
  jobs: readonly Omit<RunJob, "judgeIn">[],
  measure: MeasureRuns,
  effects: Effects,
  onDone: (done: number, run: string, total: number) => void,
): Promise<{ measured: MeasuredRun[]; judged: JudgedAxes }> {
  if (jobs.length === 0) return { measured: [], judged: {} };
  const { campaign, settings } = jobs[0]!;
  const filed = jobs.map((job): RunJob => ({ ...job, judgeIn: campaign.judgeIn ?? "world" }));
  const twice = filed.filter(isWithoutPeriod);
  let total = jobs.length + twice.length;
  const first = await measure(filed, effects, (done, run) => onDone(done, run, total));
  const stretches = stretchesOf(twice, first);
  const decided = filed.map((job): RunJob => {
    const stretch = stretches.get(job.declaration.id);
    return stretch === undefined ? job : { ...job, stretch };
  });
  const again = async (which: readonly RunJob[], before: MeasuredRun[]): Promise<MeasuredRun[]> => {
    if (which.length === 0) return before;
    const second = await measure(which, effects, (done, run) => onDone(total - which.length + done, run, total));
    const byId = new Map(second.map((run) => [run.declaration.id, run]));
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
  return { measured: await again(turned, overStretch), judged };
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
