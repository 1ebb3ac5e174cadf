import type { Campaign } from "../contract/campaign.ts";
import { applyExclusions, parseExclusions } from "../contract/manifest/exclusions.ts";
import { readCampaign } from "../contract/manifest/readCampaign.ts";
import { ManifestError } from "../foundation/errors.ts";
import type { Effects } from "./effects.ts";
import { besideManifest, fromManifest, readWhole, sumOf } from "./wholeText.ts";

/** A manifest larger than this is no manifest, bytes. */
const largestManifest = 4 * 1024 * 1024;

/** A text as it was read. */
export interface ReadText {
  /** relative to the manifest */
  readonly path: string;
  readonly sha256: string;
  readonly bytes: number;
}

/** A campaign with the texts that make it up (the manifest, its runs.csv, exclusions.yaml), for the list of inputs. */
export interface LoadedCampaign {
  readonly campaign: Campaign;
  readonly texts: readonly ReadText[];
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
  const texts: ReadText[] = [];
  const read = async (path: string): Promise<string> => {
    const text = await readWhole(path, effects);
    texts.push({ path: fromManifest(manifestPath, path), sha256: sumOf(text), bytes: Buffer.byteLength(text) });
    return text;
  };
  const campaign = await readCampaign(await read(manifestPath), {
    file: manifestPath,
    readText: async (path) => {
      const beside = besideManifest(manifestPath, path);
      const size = await effects.size(beside);
      if (size !== null && size > largestManifest) {
        throw new ManifestError("manifest-too-large", `found ${size} bytes, expected at most ${largestManifest}`, {
          place: beside,
        });
      }
      return read(beside);
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
  const exclusions = parseExclusions(await read(exclusionsPath), exclusionsPath);
  return { campaign: applyExclusions(campaign, exclusions), texts };
}

/**
 * A letter for each configuration, A, B, C ..., in an order that the seed draws: the same for the same logs, and not to be
 * guessed from names or from the order in which the manifest lists them.
 *
 * @param seed  text that nobody reads off the manifest, such as sums over the logs
 * @returns configuration -> letter
 */
export function configurationLetters(campaign: Pick<Campaign, "configurations">, seed: string): Map<string, string> {
  const drawn = Object.keys(campaign.configurations)
    .map((name) => ({ name, lot: sumOf(`${seed}\n${name}`) }))
    .sort((a, b) => (a.lot < b.lot ? -1 : 1));
  return new Map(drawn.map(({ name }, k) => [name, letterOf(k)]));
}

/** @example letterOf(1) // => "B" */
function letterOf(index: number): string {
  const letter = String.fromCharCode(65 + (index % 26));
  return index < 26 ? letter : `${letter}${Math.floor(index / 26)}`;
}

/** The campaign with letters for names and labels, listed in the order of the letters. Everything else is as it was. */
export function letteredCampaign(campaign: Campaign, letters: ReadonlyMap<string, string>): Campaign {
  const of = (name: string): string => letters.get(name) ?? name;
  return {
    ...campaign,
    baseline: of(campaign.baseline),
    candidate: of(campaign.candidate),
    ...(campaign.furtherContrasts === undefined
      ? {}
      : {
          furtherContrasts: campaign.furtherContrasts.map(({ baseline, candidate }) => ({
            baseline: of(baseline),
            candidate: of(candidate),
          })),
        }),
    sham: campaign.sham === null ? null : of(campaign.sham),
    configurations: Object.fromEntries(
      [...letters].map(([name, letter]) => [letter, { ...campaign.configurations[name]!, label: letter }]),
    ),
    runs: campaign.runs.map((run) => ({ ...run, configuration: of(run.configuration) })),
    accept: campaign.accept.map((entry) => ({ ...entry, because: withoutNames(entry.because, campaign) })),
  };
}

/**
 * What a person wrote, without the names and labels of configurations: "bare again" becomes "… again". Names count where they
 * stand as words, however they are capitalised.
 */
export function withoutNames(text: string, { configurations }: Pick<Campaign, "configurations">): string {
  const names = Object.entries(configurations)
    .flatMap(([name, { label }]) => [name, label])
    .filter((name) => name.trim() !== "")
    .sort((a, b) => b.length - a.length)
    .map((name) => name.trim().replace(/[.*+?^${}()|[\]\\]/g, "\\$&"));
  if (names.length === 0) return text;
  return text.replace(new RegExp(`(?<![\\p{L}\\p{N}])(?:${names.join("|")})(?![\\p{L}\\p{N}])`, "giu"), "…");
}
