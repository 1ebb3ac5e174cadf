import type { Campaign } from "../contract/campaign.ts";
import type { CampaignEvaluation } from "../contract/evaluation.ts";
import type { Effects } from "./effects.ts";
import { besideManifest, fromManifest } from "./paths.ts";

export interface InputFile {
  /** relative to the manifest */
  readonly path: string;
  readonly at: string;
  readonly bytes: number;
}

/**
 * The files that an evaluation rests on: manifest and what lies beside it, captures, logs with their parts.
 *
 * @param texts  the manifest and the texts beside it (`loadCampaign`)
 * @returns those that are there
 */
export async function inputFiles(
  campaign: Campaign,
  manifestPath: string,
  texts: readonly string[],
  effects: Effects,
): Promise<InputFile[]> {
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
  const files = [...texts.map((at) => ({ path: fromManifest(manifestPath, at), at })), ...parts.flat()];
  const found = await Promise.all(
    files.map(async ({ path, at }) => {
      const bytes = await effects.size(at);
      return bytes === null ? null : { path, at, bytes };
    }),
  );
  return found.filter((file) => file !== null);
}

/** With its sum. Null for a file that may not be read: the run's own check says so. */
export async function withDigest(
  { path, at, bytes }: InputFile,
  effects: Effects,
): Promise<CampaignEvaluation["inputs"][number] | null> {
  try {
    return { path, sha256: await effects.sha256(at), bytes };
  } catch {
    return null;
  }
}
