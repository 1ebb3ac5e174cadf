import type { Campaign } from "../contract/campaign.ts";
import { sumOf } from "./wholeText.ts";

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
