import type { Campaign } from "../contract/campaign.ts";
import type { CampaignEvaluation } from "../contract/evaluation.ts";
import { defaultSettings, type Settings } from "../contract/settings.ts";
import { deviations, readStaticCaptures } from "./captureNoise.ts";
import { diskEffects, type Effects } from "./effects.ts";
import { type GradedRuns, gradeRuns } from "./gradeRuns.ts";
import { inputFiles, withDigest } from "./inputFiles.ts";
import { type LoadedCampaign, loadCampaign } from "./loadCampaign.ts";
import type { MeasuredRun } from "./measureOne.ts";
import { inTurn, type MeasureRuns, measureRuns } from "./measureRuns.ts";

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
  const settings = options.settings ?? defaultSettings;
  const tell = (done: number, run: string, stage: Progress["stage"], total = campaign.runs.length): void =>
    options.onProgress?.({ done, total, run, stage });
  const { campaign, texts } = options.loaded ?? (await loadCampaign(manifestPath, effects));
  tell(0, "", "captures");
  const captures = await readStaticCaptures(campaign, manifestPath, settings, effects);
  const known = { vehicle: deviations(captures.vehicle), effector: deviations(captures.effector) };
  // begun first and awaited last: hashed in another thread, the logs cost no time
  const listing = (await inputFiles(campaign, manifestPath, texts, effects)).map((file) => withDigest(file, effects));
  const { measured, judged } = await measureRuns(
    campaign.runs.map((declaration) => ({ campaign, declaration, manifestPath, known, settings })),
    options.measureRuns ?? inTurn,
    effects,
    (done, run, total) => tell(done, run, "measuring", total),
  );
  tell(measured.length, "", "hashing");
  const inputs = (await Promise.all(listing)).filter((input) => input !== null);
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
