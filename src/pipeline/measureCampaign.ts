import { join } from "node:path";
import type { Campaign } from "../contract/campaign.ts";
import type { CampaignEvaluation } from "../contract/evaluation.ts";
import { type Settings, settingsFor } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import { ManifestError } from "../foundation/errors.ts";
import { definitionFiles } from "../readers/messages/definitionFolders.ts";
import { deviations, readStaticCaptures } from "./captureNoise.ts";
import { diskEffects, type Effects } from "./effects.ts";
import { differing, stampsOf } from "./fileStamp.ts";
import { type GradedRuns, gradeRuns } from "./gradeRuns.ts";
import { type LoadedCampaign, loadCampaign } from "./loadCampaign.ts";
import type { MeasuredRun } from "./measureOne.ts";
import { inTurn, type MeasureRuns, measureRuns } from "./runPool.ts";
import { besideManifest, fromManifest } from "./wholeText.ts";

export interface Progress {
  readonly done: number;
  readonly total: number;
  /** id of the run at hand */
  readonly run: string;
  readonly stage: "captures" | "measuring" | "hashing" | "done";
}

export interface JourneyOptions {
  readonly onProgress?: (event: Progress) => void;
  readonly effects?: Effects;
  readonly settings?: Settings;
  readonly measureRuns?: MeasureRuns;
  /** the manifest, where it was read already */
  readonly loaded?: LoadedCampaign;
}

/** A campaign whose runs were measured and graded, and not yet compared. */
export interface MeasuredCampaign extends GradedRuns {
  readonly campaign: Campaign;
  readonly settings: Settings;
  readonly inputs: CampaignEvaluation["inputs"];
  readonly measured: readonly MeasuredRun[];
  /** settings of the autopilot by run, of the runs whose logs keep them */
  readonly parameters: ReadonlyMap<string, ReadonlyMap<string, number>>;
}

/**
 * The journey up to the comparison: a manifest and its logs in, every run measured.
 *
 * One run after the other is read, aligned and measured; its samples are let go before the next, so memory does not
 * grow with the number of runs. A fault of a log makes that run `unusable` and stops no other.
 *
 * @param manifestPath  path of campaign.yaml
 * @throws ManifestError  the manifest, its runs.csv or exclusions.yaml are at fault
 */
export async function measureCampaign(manifestPath: string, options: JourneyOptions = {}): Promise<MeasuredCampaign> {
  const effects = options.effects ?? diskEffects;
  const tell = (done: number, run: string, stage: Progress["stage"], total = campaign.runs.length): void =>
    options.onProgress?.({ done, total, run, stage });
  const { campaign, texts } = options.loaded ?? (await loadCampaign(manifestPath, effects));
  const settings = settingsFor(campaign, options.settings);
  tell(0, "", "captures");
  const read = await inputFiles(campaign, manifestPath, effects);
  const stamps = await stampsOf(
    read.map(({ at }) => at),
    effects.stamp,
  );
  await refuseMissingCaptures(campaign, manifestPath, effects);
  const captures = await readStaticCaptures(campaign, manifestPath, settings, effects);
  const known = { vehicle: deviations(captures.vehicle), effector: deviations(captures.effector) };
  // begun first and awaited last: hashed in another thread, the logs cost no time
  const listing = read.map((file) => withDigest(file, effects));
  const { measured: worked, judged } = await measureRuns(
    campaign,
    { manifestPath, known, settings },
    options.measureRuns ?? inTurn,
    effects,
    (done, run, total) => tell(done, run, "measuring", total),
  );
  tell(worked.length, "", "hashing");
  const inputs = [...texts, ...(await Promise.all(listing)).filter((input) => input !== null)];
  const changed = differing(stamps, await stampsOf(stamps.keys(), effects.stamp));
  const measured = withoutChanged(worked, changed, manifestPath);
  const parameters = parametersOf(measured);
  return {
    campaign,
    settings,
    inputs,
    measured,
    parameters,
    ...gradeRuns(campaign, measured, judged, captures, settings),
  };
}

/** Settings of the autopilot by run, of the runs whose logs keep them. */
function parametersOf(measured: readonly MeasuredRun[]): Map<string, ReadonlyMap<string, number>> {
  return new Map(
    measured.flatMap(({ declaration, parameters }) => (parameters === null ? [] : [[declaration.id, parameters]])),
  );
}

interface InputFile {
  /** relative to the manifest */
  readonly path: string;
  readonly at: string;
  readonly bytes: number;
}

/**
 * The sums that are listed must be those of what was read. A run whose log was written, replaced or taken away meanwhile cannot be used; a
 * capture or a definition stands behind every run.
 *
 * @param changed  files whose stamps differ from before anything was read
 * @throws ManifestError  code `file-changed`: one of them is no run's log
 */
function withoutChanged(measured: MeasuredRun[], changed: readonly string[], manifestPath: string): MeasuredRun[] {
  if (changed.length === 0) return measured;
  const logs = new Set<string>();
  const runs = measured.map((run) => {
    const own = Object.values(run.declaration.logs)
      .flat()
      .map((log) => besideManifest(manifestPath, log));
    const found = changed.filter((path) => own.some((log) => path === log || path.startsWith(join(log, "/"))));
    if (found.length === 0) return run;
    for (const path of found) logs.add(path);
    return { ...run, checks: [...run.checks, changedLog(found.map((path) => fromManifest(manifestPath, path)))] };
  });
  const other = changed.find((path) => !logs.has(path));
  if (other === undefined) return runs;
  throw new ManifestError("file-changed", `${fromManifest(manifestPath, other)} changed while it was evaluated`, {
    place: manifestPath,
    hint: "wait until it is written, and evaluate again",
  });
}

function changedLog(paths: readonly string[]): Check {
  return {
    code: "log-unreadable",
    severity: "unusable",
    message: `the log changed while it was evaluated (${paths.join(", ")}): what was measured may be neither the old nor the new one`,
    evidence: { changed: [...paths] },
    hint: "wait until the recorder or the copy has ended, and evaluate again",
  };
}

/**
 * The files that an evaluation rests on beside its texts: captures, logs with their parts, definitions of message types.
 *
 * @returns those that are there
 */
async function inputFiles(campaign: Campaign, manifestPath: string, effects: Effects): Promise<InputFile[]> {
  const logs = new Set([...campaign.staticCaptures, ...campaign.runs.flatMap((run) => Object.values(run.logs).flat())]);
  const parts = await Promise.all(
    [...logs].map(async (path) => {
      const at = besideManifest(manifestPath, path);
      return (await effects.filesOf(at)).map((file) => ({
        path: file === at ? path : `${path}${file.slice(at.length)}`,
        at: file,
      }));
    }),
  );
  const definitions = (campaign.definitions ?? []).flatMap((path) =>
    definitionFiles(besideManifest(manifestPath, path)),
  );
  const files = [...definitions.map((at) => ({ path: fromManifest(manifestPath, at), at })), ...parts.flat()];
  const found = await Promise.all(
    files.map(async ({ path, at }) => {
      const bytes = await effects.size(at);
      return bytes === null ? null : { path, at, bytes };
    }),
  );
  return found.filter((file) => file !== null);
}

/** With its sum. Null for a file that may not be read: the run's own check says so. */
async function withDigest(
  { path, at, bytes }: InputFile,
  effects: Effects,
): Promise<CampaignEvaluation["inputs"][number] | null> {
  try {
    return { path, sha256: await effects.sha256(at), bytes };
  } catch {
    return null;
  }
}

/**
 * A static capture that is not there is a path that is wrong: without it the noise would be another, and no run would say so. Before
 * anything was flown nothing is there.
 */
async function refuseMissingCaptures(campaign: Campaign, manifestPath: string, effects: Effects): Promise<void> {
  const logs = campaign.runs.flatMap((run) => Object.values(run.logs).flat());
  const sizes = await Promise.all(logs.map((path) => effects.size(besideManifest(manifestPath, path))));
  if (sizes.every((size) => size === null)) return;
  for (const path of campaign.staticCaptures)
    if ((await effects.size(besideManifest(manifestPath, path))) === null)
      throw new ManifestError("file-missing", `static_captures: found no file ${path}, expected a static capture`, {
        place: manifestPath,
        hint: "paths are relative to the manifest; leave the capture out where it is lost",
      });
}
