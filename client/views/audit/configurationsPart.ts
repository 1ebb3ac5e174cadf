import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { Audit } from "../../../src/contract/audit.ts";
import { subjects } from "../../../src/foundation/signals.ts";
import { element } from "../../app/element.ts";
import { fixed, massText, noValue } from "../../app/words.ts";
import { figuresTable, type TableCell } from "../run/figuresTable.ts";
import { configurationLabel } from "../why/configurationLabel.ts";

type Figures = Audit["configurations"][string];

/** What of the runs was lost, from which packs they were flown, at which mass: side by side. */
export function configurationsPart(campaign: CampaignView, configurations: Audit["configurations"]): HTMLElement {
  const names = [
    ...new Set([...campaign.configurations.map(({ name }) => name), ...Object.keys(configurations)]),
  ].filter((name) => configurations[name] !== undefined);
  const row = (what: string, of: (figures: Figures) => string): TableCell[] => [
    { text: what },
    ...names.map((name) => ({ text: of(configurations[name]!) })),
  ];
  const mass = (kilograms: number | null): string => (kilograms === null ? noValue : massText(kilograms));
  const codes = [...new Set(names.flatMap((name) => Object.keys(configurations[name]!.checks)))].sort();
  return element("section", { class: "audit-configurations" }, [
    element("h2", { text: "Runs, packs and masses" }),
    figuresTable({
      name: "audit configurations",
      caption: "Side by side: what differs here, besides the counterweights, may be what differs in the verdicts",
      columns: ["", ...names.map((name) => configurationLabel(campaign, name))],
      rows: [
        row("runs filed", ({ runs }) => String(runs.filed)),
        row("used", ({ runs }) => String(runs.used)),
        row("unusable", ({ runs }) => String(runs.unusable)),
        row("excluded by a person", ({ runs }) => String(runs.excluded)),
        row("put back by a person", ({ runs }) => String(runs.put_back)),
        row("aborted", ({ runs }) => String(runs.aborted)),
        row("packs", ({ batteries, battery_unknown: unknown }) => packsText(batteries, unknown)),
        row("take-off mass", ({ takeoff_mass: m }) =>
          m.mean === null ? "not recorded" : `${mass(m.mean)} (${m.n} weighed, ${mass(m.least)} to ${mass(m.most)})`,
        ),
        row("added mass, declared", ({ added_mass: added }) => mass(added)),
        row("counterweights' mass, declared", ({ counterweights_mass: own }) => mass(own)),
        ...subjects
          .filter((subject) => names.some((name) => configurations[name]!.valid_fraction[subject] !== undefined))
          .map((subject) =>
            row(`valid samples, ${subject}`, ({ valid_fraction: valid }) =>
              valid[subject] === undefined ? noValue : `${fixed(100 * valid[subject], 1)} %`,
            ),
          ),
        ...codes.map((code) => row(`runs with ${code}`, ({ checks }) => String(checks[code] ?? 0))),
      ],
    }),
  ]);
}

function packsText(batteries: Readonly<Record<string, number>>, unknown: number): string {
  const stated = Object.entries(batteries).map(([pack, runs]) => `${pack} ${runs}×`);
  if (unknown > 0) stated.push(`not declared ${unknown}×`);
  return stated.length === 0 ? noValue : stated.join(", ");
}
