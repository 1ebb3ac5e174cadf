import { measureOf } from "../../../src/catalogue/measures.ts";
import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { Audit } from "../../../src/contract/audit.ts";
import { subjects } from "../../../src/foundation/tracks.ts";
import { unitName } from "../../../src/words/amounts.ts";
import { axisAt } from "../../../src/words/places.ts";
import { element } from "../../app/element.ts";
import { roleSigns } from "../../app/statusWords.ts";
import { fixed, intervalText, massText, noValue, probabilityValue, signed, signedAmount } from "../../app/words.ts";
import { figuresTable, numberCell, type TableCell } from "../run/figuresTable.ts";
import { configurationLabel, signedLabel } from "../why/movingPart.ts";

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

const sources = {
  started: "as declared (started)",
  "log times": "as the logs' own times say",
  manifest: "as the manifest lists them (nothing tells when they were flown)",
} as const;

/** The order flown per trajectory, what a steady drift would fake by it, and the drift that was seen. */
export function orderPart(campaign: CampaignView, orders: Audit["order"]): HTMLElement {
  return element("section", { class: "audit-order" }, [
    element("h2", { text: "Order" }),
    element("p", {
      class: "reading",
      text: "A day drifts: packs age, air warms, hands learn. Where one configuration is flown later than the other, a drift passes for a difference: 2 % a run fakes 6 % in A A A B B B, and nothing in A B B A.",
    }),
    ...orders.map((order) =>
      element("div", {}, [
        element("h3", { text: `In ${order.trajectory}` }),
        element(
          "ol",
          { class: "flown-order", "aria-label": `Order flown in ${order.trajectory}` },
          order.sequence.map((name, k) =>
            element("li", { title: `${order.runs[k] ?? ""}: ${configurationLabel(campaign, name)}` }, [
              element("span", { "aria-hidden": "true", text: signOf(campaign, name) }),
              element("span", {
                class: "unseen",
                text: `${configurationLabel(campaign, name)}, ${order.runs[k] ?? ""}`,
              }),
            ]),
          ),
        ),
        element("p", { class: "quiet small", text: `${legend(campaign, order.sequence)}; ${sources[order.source]}.` }),
        element("p", { text: fakedText(campaign, order) }),
        order.drift.length === 0 ? null : driftTable(campaign, order),
      ]),
    ),
  ]);
}

function signOf(campaign: CampaignView, name: string): string {
  return roleSigns[campaign.configurations.find((one) => one.name === name)?.role ?? "other"];
}

function legend(campaign: CampaignView, sequence: readonly string[]): string {
  return [...new Set(sequence)].map((name) => signedLabel(campaign, name)).join(", ");
}

function fakedText(campaign: CampaignView, { later, faked }: Audit["order"][number]): string {
  if (later === null || faked === null) return "Only one configuration was flown here: neither comes later.";
  const label = configurationLabel(campaign, campaign.candidate);
  return `${label} was flown ${fixed(Math.abs(later), 2)} places ${later < 0 ? "earlier" : "later"} on average; a steady drift of 2 % a run would fake a difference of ${fixed(100 * Math.abs(faked), 1)} %.`;
}

function driftTable(campaign: CampaignView, { trajectory, drift }: Audit["order"][number]): HTMLElement {
  const si = measureOf(drift[0]?.metric ?? "rms").unit;
  const unit = unitName(si);
  return figuresTable({
    name: `drift in ${trajectory}`,
    caption: "Drift of the run values with the order, within configurations",
    columns: ["cell", `${unit} a run`, "95 % interval", "% a run", "p", `faked, ${unit}`],
    fileColumns: ["cell", `${si} a run`, `95 % interval, ${unit}`, "share a run", "p", `faked, ${si}`],
    rows: drift.map((one) => [
      { text: `${one.subject} ${axisAt(campaign.judged_in, { ...one, trajectory })}` },
      numberCell(one.slope, (value) => signedAmount(value, si, 3)),
      { text: one.slope_ci95 === null ? noValue : intervalText(one.slope_ci95, si, 3) },
      numberCell(one.slope_share, (share) => signed(100 * share, 1)),
      { text: probabilityValue(one.p), value: one.p },
      numberCell(one.faked, (value) => signedAmount(value, si, 3)),
    ]),
  });
}
