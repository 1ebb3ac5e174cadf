import { settingsFor } from "../../contract/settings.ts";
import { StoppedError } from "../../foundation/errors.ts";
import { deviations, readStaticCaptures } from "../captureNoise.ts";
import { diskEffects } from "../effects.ts";
import { loadCampaign } from "../loadCampaign.ts";
import type { JourneyOptions } from "../measureCampaign.ts";
import { type MeasureRuns, measureRuns, sideBySide } from "../runPool.ts";
import { keptRuns } from "./keptRuns.ts";
import type { Records } from "./records.ts";

/** One of several processes, on one machine or many, that measure a campaign between them: the `part`th of `parts`, from 1. */
export interface Share {
  readonly part: number;
  readonly parts: number;
}

/** What came of one share. */
export interface MeasuredShare {
  /** ids of the share's runs */
  readonly runs: readonly string[];
  /** how many measurements were made; a run may be measured twice, once what all runs of its trajectory decide is known */
  readonly made: number;
  /** ids of runs of other shares that are not there yet, for want of which what is decided over all runs was left open */
  readonly waiting: readonly string[];
}

/**
 * Measures a share of a campaign's runs and keeps them: every `parts`th run. Shares need nothing of each other, in any order, at any
 * time, as often as one likes; whatever none of them has measured, the evaluation does.
 *
 * @throws ManifestError  the manifest, its runs.csv or exclusions.yaml are at fault
 */
export async function measureShare(
  manifestPath: string,
  { part, parts }: Share,
  kept: { readonly records: Records; readonly program: string },
  options: JourneyOptions = {},
): Promise<MeasuredShare> {
  const effects = options.effects ?? diskEffects;
  const { campaign } = await loadCampaign(manifestPath, effects);
  const settings = settingsFor(campaign, options.settings);
  const captures = await readStaticCaptures(campaign, manifestPath, settings, effects);
  const known = { vehicle: deviations(captures.vehicle), effector: deviations(captures.effector) };
  const runs = campaign.runs.flatMap(({ id }, k) => (k % parts === part - 1 ? [id] : []));
  const own = new Set(runs);
  let made = 0;
  let waiting: string[] = [];
  const measureOwn: MeasureRuns = (jobs, ...rest) => {
    made += jobs.length;
    return (options.measureRuns ?? sideBySide)(jobs, ...rest);
  };
  const measureNone: MeasureRuns = async (jobs) => {
    waiting = jobs.map(({ declaration }) => declaration.id);
    throw new StoppedError("this part");
  };
  const share: MeasureRuns = async (jobs, ...rest) => {
    const isOwn = jobs.map(({ declaration }) => own.has(declaration.id));
    const measured = await keptRuns(
      measureOwn,
      kept.records,
      kept.program,
    )(
      jobs.filter((_, k) => isOwn[k]),
      ...rest,
    );
    // sums of other shares' logs are theirs to compute where there is no record of the run at all
    const others = await keptRuns(
      measureNone,
      kept.records,
      kept.program,
    )(
      jobs.filter((_, k) => !isOwn[k]),
      ...rest,
    );
    return isOwn.map((ours) => (ours ? measured : others).shift()!);
  };
  try {
    await measureRuns(campaign, { manifestPath, known, settings }, share, effects, (done, run, total) =>
      options.onProgress?.({ done, total, run, stage: "measuring" }),
    );
  } catch (error) {
    if (!(error instanceof StoppedError) || waiting.length === 0) throw error;
  }
  return { runs, made, waiting };
}
