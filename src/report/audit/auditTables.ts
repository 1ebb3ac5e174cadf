import type { Audit } from "../../contract/audit.ts";
import type { CampaignEvaluation } from "../../contract/evaluation.ts";
import { subjects } from "../../foundation/tracks.ts";
import type { TableRow } from "../text/layout.ts";
import { shortName } from "../text/nameText.ts";
import { fixed, noValue } from "../text/numbers.ts";
import type { LetteredConfiguration } from "./auditFindings.ts";

type Configuration = Audit["configurations"][string];

/** Trajectory by trajectory, block by block: "2 of 3" used runs of those filed, a column per configuration. */
export function blockRows(
  { audit }: Pick<CampaignEvaluation, "audit">,
  letters: readonly LetteredConfiguration[],
): TableRow[] {
  const trajectories = [...new Set(audit.blocks.map(({ trajectory }) => trajectory))];
  return trajectories.flatMap((trajectory): TableRow[] => [
    { words: shortName(trajectory) },
    ...audit.blocks
      .filter((row) => row.trajectory === trajectory)
      .map(({ block, configurations }) => ({
        label: `  ${block === null ? "no block" : shortName(block)}`,
        cells: letters.map(({ key }) => {
          const counts = configurations[key];
          return counts === undefined ? noValue : `${counts.used} of ${counts.filed}${headingText(counts.heading)}`;
        }),
      })),
  ]);
}

function headingText(heading: number | null): string {
  return heading === null ? "" : `, ${Math.round((heading * 180) / Math.PI)}°`;
}

/** What each configuration was flown with, a column per configuration. */
export function configurationRows(
  { audit }: Pick<CampaignEvaluation, "audit">,
  letters: readonly LetteredConfiguration[],
): TableRow[] {
  const all = letters.map(({ key }) => audit.configurations[key]);
  const row = (label: string, of: (own: Configuration) => string | null): TableRow => ({
    label,
    cells: all.map((own) => (own === undefined ? noValue : (of(own) ?? noValue))),
  });
  const some = (of: (own: Configuration) => boolean): boolean => all.some((own) => own !== undefined && of(own));
  const grams = (mass: number | null): string | null => (mass === null ? null : fixed(mass * 1000, 0));
  const packs = [...new Set(all.flatMap((own) => Object.keys(own?.batteries ?? {})))].sort();
  const codes = [...new Set(all.flatMap((own) => Object.keys(own?.checks ?? {})))].sort();
  const measured = subjects.filter((subject) => some(({ valid_fraction }) => valid_fraction[subject] !== undefined));
  const weighed = some(({ takeoff_mass }) => takeoff_mass.n > 0);
  return [
    row("runs filed", ({ runs }) => String(runs.filed)),
    row("used", ({ runs }) => String(runs.used)),
    row("unusable", ({ runs }) => String(runs.unusable)),
    row("excluded by hand", ({ runs }) => String(runs.excluded)),
    row("aborted", ({ runs }) => String(runs.aborted)),
    row("put back by hand", ({ runs }) => String(runs.put_back)),
    ...packs.map((pack) => row(`used on ${shortName(pack)}`, ({ batteries }) => String(batteries[pack] ?? 0))),
    ...(some(({ battery_unknown }) => battery_unknown > 0)
      ? [row("used, pack unknown", ({ battery_unknown }) => String(battery_unknown))]
      : []),
    row("used, weighed", ({ takeoff_mass }) => String(takeoff_mass.n)),
    ...(weighed
      ? [
          row("take-off mass, g", ({ takeoff_mass }) => grams(takeoff_mass.mean)),
          row("sd, g", ({ takeoff_mass: { sd } }) => (sd === null ? null : fixed(sd * 1000, 1))),
          row("least, g", ({ takeoff_mass }) => grams(takeoff_mass.least)),
          row("most, g", ({ takeoff_mass }) => grams(takeoff_mass.most)),
        ]
      : []),
    row("added, declared, g", ({ added_mass }) => grams(added_mass)),
    row("counterweights, g", ({ counterweights_mass }) => grams(counterweights_mass)),
    ...measured.map((subject) =>
      row(`valid, ${subject}, %`, ({ valid_fraction }) => {
        const share = valid_fraction[subject];
        return share === undefined ? null : fixed(share * 100, 1);
      }),
    ),
    ...codes.map((code) => row(`check ${code}`, ({ checks }) => String(checks[code] ?? 0))),
  ];
}
