import type { Campaign } from "../contract/campaign.ts";
import { applyExclusions, parseExclusions } from "../contract/manifest/exclusions.ts";
import { readCampaign } from "../contract/manifest/readCampaign.ts";
import { ManifestError } from "../foundation/errors.ts";
import type { Effects } from "./effects.ts";
import { besideManifest } from "./paths.ts";
import { readWhole } from "./wholeText.ts";

/** A manifest larger than this is no manifest, bytes. */
const largestManifest = 4 * 1024 * 1024;

/** A campaign with the texts that make it up (the manifest, its runs.csv, exclusions.yaml), for the list of inputs. */
export interface LoadedCampaign {
  readonly campaign: Campaign;
  readonly texts: readonly string[];
}

/**
 * Reads a manifest with what lies beside it.
 *
 * @throws ManifestError  not there, too large, not readable, or at fault
 */
export async function loadCampaign(manifestPath: string, effects: Effects): Promise<LoadedCampaign> {
  const bytes = await effects.size(manifestPath);
  if (bytes === null) {
    throw new ManifestError("manifest-missing", "found no such file, expected a campaign manifest", {
      place: manifestPath,
      hint: "give the path of a campaign.yaml; `counterpoise inspect LOG` prints one to start from",
    });
  }
  if (bytes > largestManifest) {
    throw new ManifestError("manifest-too-large", `found ${bytes} bytes, expected at most ${largestManifest}`, {
      place: manifestPath,
      hint: "is this a log? Give the campaign.yaml that names it",
    });
  }
  const texts = [manifestPath];
  const campaign = await readCampaign(await readWhole(manifestPath, effects), {
    file: manifestPath,
    readText: async (path) => {
      const beside = besideManifest(manifestPath, path);
      const size = await effects.size(beside);
      if (size !== null && size > largestManifest) {
        throw new ManifestError("manifest-too-large", `found ${size} bytes, expected at most ${largestManifest}`, {
          place: beside,
        });
      }
      texts.push(beside);
      return readWhole(beside, effects);
    },
  });
  const exclusionsPath = besideManifest(manifestPath, "exclusions.yaml");
  const exclusionsSize = await effects.size(exclusionsPath);
  if (exclusionsSize === null) return { campaign, texts };
  if (exclusionsSize > largestManifest) {
    throw new ManifestError(
      "manifest-too-large",
      `found ${exclusionsSize} bytes, expected at most ${largestManifest}`,
      { place: exclusionsPath },
    );
  }
  const exclusions = parseExclusions(await readWhole(exclusionsPath, effects), exclusionsPath);
  return { campaign: applyExclusions(campaign, exclusions), texts: [...texts, exclusionsPath] };
}
