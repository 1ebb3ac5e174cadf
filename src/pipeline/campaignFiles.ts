import { diskEffects, type Effects } from "./effects.ts";
import { loadCampaign } from "./loadCampaign.ts";
import { besideManifest } from "./wholeText.ts";

/**
 * The files that belong to a campaign, there or not: its manifest with what that reads, its logs and captures, and what the
 * program keeps beside it. What is written elsewhere must not fall on one of them.
 *
 * @throws ManifestError  as `loadCampaign`
 */
export async function campaignFiles(manifestPath: string, effects: Effects = diskEffects): Promise<string[]> {
  const { campaign, texts } = await loadCampaign(manifestPath, effects);
  const beside = [
    "evaluation.json",
    "looks.jsonl",
    "exclusions.yaml",
    ...texts.map(({ path }) => path),
    ...campaign.staticCaptures,
    ...[...(campaign.bench?.knownMass ?? []), ...(campaign.bench?.tap ?? [])].map(({ log }) => log),
    ...(campaign.bench?.runs ?? []).flatMap(({ logs }) => Object.values(logs).flat()),
    ...campaign.runs.flatMap(({ logs }) => Object.values(logs).flat()),
  ];
  return [...new Set(beside.map((path) => besideManifest(manifestPath, path)))];
}
