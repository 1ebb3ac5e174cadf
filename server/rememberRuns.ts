import type { AlignedRun } from "../src/alignment/alignRun.ts";
import { meanYaw } from "../src/alignment/heading.ts";
import type { SubjectTrack } from "../src/alignment/subjectTracks.ts";
import { subjects } from "../src/foundation/tracks.ts";
import type { Radians } from "../src/foundation/units.ts";
import { type FileStamp, stampsOf } from "../src/pipeline/fileStamp.ts";
import { exactText } from "../src/pipeline/kept/keptRuns.ts";
import type { AlignJob } from "../src/pipeline/measureExtras.ts";
import type { Measurement, RunJob } from "../src/pipeline/measureOne.ts";
import type { MeasureRuns } from "../src/pipeline/runPool.ts";
import { besideManifest } from "../src/pipeline/wholeText.ts";

/**
 * Measures only what has changed since the last evaluation: a run whose logs and job are the same gives the same figures. Excluding
 * a run then costs the comparison alone.
 *
 * A run whose log could not be read is tried again every time. An evaluation may measure a run more
 * than once: what each way of it gave is kept.
 */
export function rememberRuns(measure: MeasureRuns, stamp: FileStamp): MeasureRuns {
  const known = new Map<string, { key: string; run: Measurement }>();
  /** over its own stretch or the one common to all runs, along the room's axes or in its heading */
  const slotOf = ({ declaration, judgeIn, stretch }: RunJob): string =>
    `${stretch === undefined ? "own" : "common"} ${judgeIn} ${declaration.id}`;
  return async (jobs, effects, onDone) => {
    const keys = await Promise.all(jobs.map((job) => runKey(job, stamp)));
    const keptOf = (job: RunJob, k: number): Measurement | null => {
      const kept = known.get(slotOf(job));
      return kept !== undefined && kept.key === keys[k] ? kept.run : null;
    };
    const missing = jobs.filter((job, k) => keptOf(job, k) === null);
    const before = jobs.length - missing.length;
    const fresh =
      missing.length === 0 ? [] : await measure(missing, effects, (done, run) => onDone(before + done, run));
    let next = 0;
    const results = jobs.map((job, k) => keptOf(job, k) ?? fresh[next++]!);
    const readable = (run: Measurement): boolean => !run.checks.some(({ code }) => code === "log-unreadable");
    for (const [k, run] of results.entries()) {
      // definitions of message types lie in folders of folders, which a stamp does not see into
      if (readable(run) && (jobs[k]!.campaign.definitions ?? []).length === 0)
        known.set(slotOf(jobs[k]!), { key: keys[k]!, run });
      else known.delete(slotOf(jobs[k]!));
    }
    return results;
  };
}

/** All that a run's figures depend on, as text: the job, which holds nothing else (`groundsOf`), and the stamps of its logs. */
export async function runKey(job: AlignJob & Partial<RunJob>, stamp: FileStamp): Promise<string> {
  const paths = Object.values(job.declaration.logs).flat();
  const stamps = await stampsOf(
    paths.map((path) => besideManifest(job.manifestPath, path)),
    stamp,
  );
  return exactText([job, [...stamps]]);
}

/** Answers that are costly to make, the most recently used kept. */
interface RecentlyUsed<T> {
  /** The value of a key, made where it is not kept; asked for twice at once it is made once. A failure is not kept. */
  readonly get: (key: string, make: () => Promise<T>) => Promise<T>;
  readonly size: () => number;
}

/**
 * Keeps the values used last, within a number and a weight. The newest is kept even where it alone is too heavy.
 *
 * @param options.most      values
 * @param options.heaviest  sum of the weights
 * @param options.weigh     weight of one value, such as its bytes
 */
export function recentlyUsed<T>(options: {
  most: number;
  heaviest: number;
  weigh: (value: T) => number;
}): RecentlyUsed<T> {
  // a Map keeps the order of insertion: the first is the one not used for longest
  const kept = new Map<string, { value: Promise<T>; weight: number }>();
  const trim = (): void => {
    let weight = [...kept.values()].reduce((sum, entry) => sum + entry.weight, 0);
    for (const [key, entry] of kept) {
      if (kept.size <= 1 || (kept.size <= options.most && weight <= options.heaviest)) return;
      kept.delete(key);
      weight -= entry.weight;
    }
  };
  return {
    size: () => kept.size,
    get: (key, make) => {
      const found = kept.get(key);
      if (found !== undefined) {
        kept.delete(key);
        kept.set(key, found);
        return found.value;
      }
      const entry = { value: make(), weight: 0 };
      kept.set(key, entry);
      entry.value.then(
        (value) => {
          entry.weight = options.weigh(value);
          trim();
        },
        () => {
          if (kept.get(key) === entry) kept.delete(key);
        },
      );
      return entry.value;
    },
  };
}

/** What is kept of an aligned run for drawing: its subjects' tracks and windows, and which way it faced. */
export interface RunTraces extends Pick<AlignedRun, "subjects" | "cycles" | "hold" | "intervals" | "judgedIn"> {
  /** mean yaw measured and commanded, in the hold or else the cycles, in the axes of the tracks; null where none is known */
  readonly facing: { readonly measured: Radians | null; readonly commanded: Radians | null };
}

/** Lets go of all that is not drawn. */
export function tracesOf(run: AlignedRun): RunTraces {
  const { subjects: tracks, cycles, hold, intervals, judgedIn, vehicle, setpoint, scored } = run;
  const window = hold ?? scored;
  const facing = {
    measured: vehicle === null ? null : meanYaw(vehicle, window),
    commanded: setpoint === null || setpoint.attitude === "level" ? null : meanYaw(setpoint, window),
  };
  return { subjects: tracks, cycles, hold, intervals, judgedIn, facing };
}

/** Bytes of the columns, those that subjects share counted for each. */
export function bytesOf(traces: RunTraces): number {
  const columns = ({ t, measured, error, command }: SubjectTrack): Float64Array[] =>
    [t, measured.x, measured.y, measured.z, error.x, error.y, error.z].concat(
      command.t,
      command.x,
      command.y,
      command.z,
    );
  return subjects
    .flatMap((subject) => traces.subjects[subject] ?? [])
    .flatMap(columns)
    .reduce((sum, { byteLength }) => sum + byteLength, 0);
}
