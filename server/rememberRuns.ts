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
 * A run whose log could not be read is tried again every time. What the last two calls gave is kept: an evaluation makes a second
 * one where the runs of a logged trajectory are looked at before they are measured.
 */
export function rememberRuns(measure: MeasureRuns, stamp: FileStamp): MeasureRuns {
  let before = new Map<string, MeasuredRun>();
  let latest = new Map<string, MeasuredRun>();
  return async (jobs, effects, onDone) => {
    const known = new Map([...before, ...latest]);
    const keys = await Promise.all(jobs.map((job) => runKey(job, stamp)));
    const missing = jobs.filter((_, k) => !known.has(keys[k]!));
    const kept = jobs.length - missing.length;
    const fresh = missing.length === 0 ? [] : await measure(missing, effects, (done, run) => onDone(kept + done, run));
    let next = 0;
    const results = jobs.map((job, k) => {
      const run = known.get(keys[k]!) ?? fresh[next++]!;
      return { ...run, declaration: job.declaration };
    });
    const readable = (run: MeasuredRun): boolean => !run.checks.some(({ code }) => code === "log-unreadable");
    before = latest;
    latest = new Map(results.flatMap((run, k) => (readable(run) ? [[keys[k]!, run] as const] : [])));
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
