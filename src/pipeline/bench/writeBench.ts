import type { BenchEvaluation } from "../../contract/benchEvaluation.ts";
import type { Campaign } from "../../contract/campaign.ts";
import { type CampaignEvaluation, evaluationSchema } from "../../contract/evaluation.ts";
import { ManifestError } from "../../foundation/errors.ts";
import { diskEffects, type Effects } from "../effects.ts";
import { loadCampaign } from "../loadCampaign.ts";
import { readRecord } from "../recordLook.ts";
import { fileName } from "../wholeText.ts";
import { benchAndFlights } from "./benchAndFlights.ts";
import { type BenchProgress, evaluateBenchBlock } from "./evaluateBenchBlock.ts";

export interface BenchJourney {
  readonly bench: BenchEvaluation;
  readonly campaign: Campaign;
  readonly title: string;
  readonly labels: { readonly baseline: string; readonly candidate: string };
  /** flights are declared beside the bench */
  readonly flights: boolean;
}

/**
 * The bench of a manifest alone: its flights are not read.
 *
 * @throws ManifestError  code `no-bench`: the manifest has no such block; or it is at fault
 */
export async function benchOfManifest(
  manifestPath: string,
  options: { readonly effects?: Effects; readonly onProgress?: (progress: BenchProgress) => void } = {},
): Promise<BenchJourney> {
  const effects = options.effects ?? diskEffects;
  const { campaign } = await loadCampaign(manifestPath, effects);
  const bench = await evaluateBenchBlock(campaign, manifestPath, options);
  if (bench === null)
    throw new ManifestError("no-bench", "found no `bench:` in the manifest, expected one", {
      place: manifestPath,
      hint: "the manual's page on the bench shows how it is written",
    });
  const label = (name: string): string => campaign.configurations[name]?.label ?? name;
  return {
    bench,
    campaign,
    title: campaign.title,
    labels: { baseline: label(campaign.baseline), candidate: label(campaign.candidate) },
    flights: campaign.runs.length > 0,
  };
}

/**
 * The evaluation that stands at a path with another bench: its flights are kept as they are, and held against this bench.
 *
 * @returns null where nothing stands there, or no evaluation of this schema
 * @throws ManifestError  the record of looks is at fault
 */
export async function withBench(
  path: string,
  { bench, campaign }: Pick<BenchJourney, "bench" | "campaign">,
  manifestPath: string,
  effects: Effects = diskEffects,
): Promise<CampaignEvaluation | null> {
  const kept = await evaluationAt(path, effects);
  if (kept === null) return null;
  const { forecasts } = await readRecord(manifestPath, effects);
  return {
    ...kept,
    bench,
    bench_to_flight: benchAndFlights(campaign, bench, kept, forecasts, fileName(manifestPath)),
  };
}

async function evaluationAt(path: string, effects: Effects): Promise<CampaignEvaluation | null> {
  if ((await effects.size(path)) === null) return null;
  try {
    const found = evaluationSchema.safeParse(JSON.parse(await effects.readText(path)));
    return found.success ? found.data : null;
  } catch {
    return null;
  }
}
