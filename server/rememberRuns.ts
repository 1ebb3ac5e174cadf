import type { AlignJob } from "../src/pipeline/alignOneRun.ts";
import type { Effects } from "../src/pipeline/effects.ts";
import type { MeasuredRun, RunJob } from "../src/pipeline/measureOne.ts";
import type { MeasureRuns } from "../src/pipeline/measureRuns.ts";
import { besideManifest } from "../src/pipeline/paths.ts";
import { type FileStamp, stampsOf } from "./fileStamp.ts";

/**
 * Measures only what has changed since the last evaluation: a run whose logs, declaration and settings are the same gives
 * the same figures. Excluding a run then costs the comparison alone.
 *
 * A run whose log could not be read is tried again every time. An evaluation may measure a run more
 * than once: what each way of it gave is kept.
 */
export function rememberRuns(measure: MeasureRuns, stamp: FileStamp): MeasureRuns {
  const known = new Map<string, { key: string; run: MeasuredRun }>();
  /** over its own stretch or the one common to all runs, along the room's axes or in its heading */
  const slotOf = ({ declaration, judgeIn, stretch }: RunJob): string =>
    `${stretch === undefined ? "own" : "common"} ${judgeIn} ${declaration.id}`;
  return async (jobs, effects, onDone) => {
    const keys = await Promise.all(jobs.map((job) => runKey(job, stamp)));
    const keptOf = (job: RunJob, k: number): MeasuredRun | null => {
      const kept = known.get(slotOf(job));
      return kept !== undefined && kept.key === keys[k] ? kept.run : null;
    };
    const missing = jobs.filter((job, k) => keptOf(job, k) === null);
    const before = jobs.length - missing.length;
    const fresh =
      missing.length === 0 ? [] : await measure(missing, effects, (done, run) => onDone(before + done, run));
    let next = 0;
    const results = jobs.map((job, k) => {
      const kept = keptOf(job, k) ?? fresh[next++]!;
      return { ...kept, declaration: job.declaration };
    });
    const readable = (run: MeasuredRun): boolean => !run.checks.some(({ code }) => code === "log-unreadable");
    for (const [k, run] of results.entries()) {
      if (readable(run)) known.set(slotOf(jobs[k]!), { key: keys[k]!, run });
      else known.delete(slotOf(jobs[k]!));
    }
    return results;
  };
}

/** All that a run's figures depend on, as text. What a person says of the run (`exclude`, notes) does not touch them. */
export async function runKey(job: AlignJob & Partial<RunJob>, stamp: FileStamp): Promise<string> {
  const { signals, frames, clocks, trajectories } = job.campaign;
  const { id, logs, trajectory, block, span } = job.declaration;
  const paths = Object.values(logs).flat();
  const stamps = await stampsOf(
    paths.map((path) => besideManifest(job.manifestPath, path)),
    stamp,
  );
  return JSON.stringify([
    { signals, frames, clocks, trajectory: trajectories[trajectory] },
    { id, logs, trajectory, block, span },
    [...stamps],
    job.known ?? null,
    job.settings,
    job.stretch ?? null,
    job.judgeIn,
  ]);
}

/** Effects whose sums of unchanged files are not computed twice. */
export function rememberSums(effects: Effects, stamp: FileStamp): Effects {
  const known = new Map<string, { stamp: string; sum: string }>();
  return {
    ...effects,
    sha256: async (path) => {
      const now = await stamp(path);
      const kept = known.get(path);
      if (kept !== undefined && now !== "" && kept.stamp === now) return kept.sum;
      const sum = await effects.sha256(path);
      known.set(path, { stamp: now, sum });
      return sum;
    },
  };
}
