import { createHash } from "node:crypto";
import { dirname } from "node:path";
import { definitionFiles } from "../../readers/messages/definitionFolders.ts";
import type { Effects } from "../effects.ts";
import { differing, isSettled, stampsOf } from "../fileStamp.ts";
import type { Measurement, RunJob } from "../measureOne.ts";
import type { MeasureRuns } from "../runPool.ts";
import { besideManifest } from "../wholeText.ts";
import { besideLogs, holdsMore } from "./keptAnswer.ts";
import type { Records } from "./records.ts";

/** bytes of all records of a folder; those not used for longest are let go beyond it */
const largestFolder = 2 ** 30;

/**
 * Measures only runs that were not measured before by the same program: a record is found by the content of the run's logs, by
 * the job (which holds all of manifest and settings that a measurement can read: `groundsOf`) and by the build. In doubt a run
 * is measured again: one of which a log could not be read, was written a moment ago, or was written meanwhile is not kept.
 *
 * @param build  what tells two programs apart that could measure differently
 */
export function keptRuns(measure: MeasureRuns, records: Records, build: string): MeasureRuns {
  return async (jobs, effects, onDone, onMeasured) => {
    const names = await records.names();
    const places = await Promise.all(jobs.map((job) => placeOf(job, effects, build)));
    const kept = await Promise.all(places.map((place) => look(place, names, records)));
    const missing = jobs.flatMap((_, k) => (kept[k] === null ? [k] : []));
    const before = jobs.length - missing.length;
    kept.forEach((measurement, k) => {
      if (measurement !== null) onMeasured?.(k, measurement);
    });
    const writing: Promise<boolean>[] = [];
    const fresh =
      missing.length === 0
        ? []
        : await measure(
            missing.map((k) => jobs[k]!),
            effects,
            (done, run) => onDone(before + done, run),
            (index, measurement) => {
              const k = missing[index]!;
              writing.push(keep(places[k]!, measurement, records, effects));
              onMeasured?.(k, measurement);
            },
          );
    if ((await Promise.all(writing)).some((isKept) => isKept)) await records.trim(largestFolder);
    let next = 0;
    return kept.map((measurement) => measurement ?? fresh[next++]!);
  };
}

/** Where a run's record is, once the sums of its logs are known. */
interface Place {
  /** fingerprint of job and build */
  readonly job: string;
  readonly stamps: ReadonlyMap<string, string>;
  /** fingerprint of the logs' content; null where one cannot be read */
  readonly content: () => Promise<string | null>;
}

/** @returns null for a run that is not to be kept */
async function placeOf(job: RunJob, effects: Effects, build: string): Promise<Place | null> {
  const begun = effects.now().getTime();
  const files = await filesBehind(job, effects);
  if (files === null) return null;
  const stamps = await stampsOf(files, effects.stamp);
  if (![...stamps.values()].every((stamp) => isSettled(stamp, begun))) return null;
  const { manifestPath, ...rest } = job;
  let asked: Promise<string | null> | null = null;
  const content = async (): Promise<string | null> => {
    const sums = await Promise.all([...stamps.keys()].map(async (path) => [path, await effects.sha256(path)]));
    return fingerprint(sums);
  };
  return {
    // words of a finding may name a log as the command line does
    job: fingerprint([build, dirname(manifestPath), rest]),
    stamps,
    content: () => {
      asked ??= content().catch(() => null);
      return asked;
    },
  };
}

async function look(place: Place | null, names: ReadonlySet<string>, records: Records): Promise<Measurement | null> {
  if (place === null) return null;
  // without any record of this job the sums need not be waited for
  const own = [...names].some((name) => name.startsWith(`run-${place.job}`));
  const content = own ? await place.content() : null;
  if (content === null) return null;
  const name = nameOf(place, content);
  return names.has(name) ? ((await records.read(name)) as Measurement | null) : null;
}

async function keep(
  place: Place | null,
  measurement: Measurement,
  records: Records,
  effects: Effects,
): Promise<boolean> {
  if (place === null || measurement.checks.some(({ code }) => code === "log-unreadable")) return false;
  const content = await place.content();
  if (content === null) return false;
  const now = await stampsOf(place.stamps.keys(), effects.stamp);
  return differing(place.stamps, now).length === 0 && records.write(nameOf(place, content), measurement);
}

const nameOf = ({ job }: Place, content: string): string => `run-${job}-${content}`;

function fingerprint(value: unknown): string {
  return createHash("sha256").update(exactText(value)).digest("hex").slice(0, 32);
}

/**
 * A value as text: two values have the same text where nothing can tell them apart. (Serialised bytes do not serve: they also show
 * how the engine happens to hold a number.)
 */
export function exactText(value: unknown): string {
  if (typeof value === "number") return Object.is(value, -0) ? "-0" : String(value);
  if (typeof value === "bigint") return `${value}n`;
  if (typeof value === "string") return JSON.stringify(value);
  if (value === null || typeof value !== "object") return String(value);
  if (Array.isArray(value)) return `[${value.map(exactText).join()}]`;
  if (Object.getPrototypeOf(value) !== Object.prototype)
    return `${value.constructor.name}${exactText([...(value as Iterable<unknown>)])}`;
  return `{${Object.entries(value)
    .map(([key, own]) => `${JSON.stringify(key)}:${exactText(own)}`)
    .join()}}`;
}

/** All files that a run's measurement can have read; null where that is not certain. */
async function filesBehind(
  { campaign, declaration, manifestPath }: RunJob,
  effects: Effects,
): Promise<string[] | null> {
  const files: string[] = [];
  for (const log of Object.values(declaration.logs).flat()) {
    const at = besideManifest(manifestPath, log);
    const own = await effects.filesOf(at);
    const isFolder = own.length !== 1 || own[0] !== at;
    if (isFolder && (await holdsMore(at, own.length))) return null;
    const beside = own.flatMap((path) => besideLogs.map((ending) => `${path}${ending}`));
    const there = await Promise.all(beside.map(async (path) => ((await effects.size(path)) === null ? [] : [path])));
    files.push(...own, ...there.flat());
  }
  try {
    const folders = (campaign.definitions ?? []).map((path) => besideManifest(manifestPath, path));
    return [...files, ...folders.flatMap((folder) => definitionFiles(folder))];
  } catch {
    return null;
  }
}
