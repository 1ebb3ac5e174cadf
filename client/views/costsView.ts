import "../style/run.css";
import "../style/why.css";
import type { CampaignView } from "../../src/contract/api/campaignAnswer.ts";
import type { CostsAnswer } from "../../src/contract/api/cellAnswers.ts";
import { apiPaths } from "../../src/contract/api/paths.ts";
import type { CostConfiguration, CostFigure, Costs } from "../../src/contract/costs.ts";
import { type CostRow, costCautions, costRange, costRows, costSource } from "../../src/words/costWords.ts";
import { element } from "../app/element.ts";
import { fetchAnswer } from "../app/fetchAnswer.ts";
import type { View } from "../app/View.ts";
import { fixed, noValue, typeset } from "../app/words.ts";
import { findingsPart } from "./audit/findingsPart.ts";
import { figuresTable, numberCell, type TableCell } from "./run/figuresTable.ts";
import { paragraphs, signedLabel } from "./why/movingPart.ts";

/** The price list: what each way of building the vehicle buys and costs, where each figure comes from, and what to mind. */
export const costsView: View = async (root, { campaign, left }) => {
  const loading = element("p", { class: "quiet loading", role: "status", text: "Fetching the costs …" });
  root.append(loading);
  const answer = await fetchAnswer<CostsAnswer>(apiPaths.costs, { signal: left });
  const { costs } = answer;
  loading.replaceWith(
    element("h1", { text: "What it costs", tabindex: "-1" }),
    element("p", {
      class: "reading",
      text:
        costs === null
          ? "Nothing is known of it: declare `vehicle: mass` and one of `max_thrust`, `rotors` with `rotor_diameter`, or `battery`, or log a current."
          : "Balance is bought with grams. The verdicts stand on the first page; here is the price, each figure with where it comes from: measured (with its 95 % interval over runs), by law (over the range of what enters it), or declared.",
    }),
    ...(costs === null
      ? []
      : [
          campaign.costs === null || campaign.costs === ""
            ? element("p", { class: "quiet", text: "Nothing of it was measured: all figures are by law, or declared." })
            : element("p", { class: "answer-more", text: typeset(campaign.costs) }),
          element("p", { class: "reading", text: costCautions.all }),
          findingsPart(costs.findings, "None: no margin that is known falls short, and no figure contradicts another."),
          optionsPart(campaign, costs, answer.options),
          figuresPart(campaign, costs),
          element("section", { class: "costs-limits" }, [
            element("h2", { text: "Largest mass, and what is missing" }),
            ...paragraphs(
              answer.paragraphs.map(({ text, items }) => ({ text: typeset(text), items: items.map(typeset) })),
            ),
          ]),
        ]),
  );
};

/** Configurations in the campaign's order, with what is known of each. */
function known(campaign: CampaignView, { configurations }: Costs): { name: string; found: CostConfiguration }[] {
  return campaign.configurations.flatMap(({ name }) => {
    const found = configurations[name];
    return found === undefined ? [] : [{ name, found }];
  });
}

/** What each option buys beside what it costs; no score is made of them. */
function optionsPart(campaign: CampaignView, costs: Costs, options: CostsAnswer["options"]): HTMLElement {
  const columns = known(campaign, costs);
  const places = [...new Set(options.flatMap(({ left }) => left.map(({ place }) => place)))];
  const ended = columns.some(({ found }) => found.thrust_to_weight_end !== null);
  const optionOf = (name: string) => options.find(({ configuration }) => configuration === name);
  const row = (what: string, of: (name: string, found: CostConfiguration) => TableCell): TableCell[] => [
    { text: what },
    ...columns.map(({ name, found }) => of(name, found)),
  ];
  const figure = (own: CostFigure | null, factor: number, decimals: number): TableCell =>
    numberCell(own && factor * own.value, (value) => fixed(value, decimals));
  return element("section", { class: "costs-options" }, [
    element("h2", { text: "The options" }),
    figuresTable({
      name: "options",
      caption: `What each leaves to move, and what it costs. No single score: which is worth its price is yours to say${campaign.sham === null ? "" : "; the sham has the mass without the balance"}`,
      columns: ["", ...columns.map(({ name }) => signedLabel(campaign, name))],
      rows: [
        ...places.map((at) =>
          row(`left to move, ${at}`, (name) => leftCell(optionOf(name)?.left.find(({ place }) => place === at))),
        ),
        row("verdicts", (name) => ({ text: optionOf(name)?.verdicts || noValue })),
        row("take-off mass, kg", (_, found) => figure(found.takeoff_mass, 1, 2)),
        row(ended ? "thrust to weight at the end of the battery" : "thrust to weight", (_, found) =>
          figure(ended ? found.thrust_to_weight_end : found.thrust_to_weight, 1, 2),
        ),
        row("minutes in hover", (_, found) => figure(found.endurance, 1 / 60, 1)),
        row("inertia about pitch, change in g m²", (_, found) =>
          numberCell(found.inertia && 1000 * found.inertia.change.y, (value) => fixed(value, 2)),
        ),
      ],
    }),
    element("p", { class: "reading caution", text: costCautions.weights }),
  ]);
}

function leftCell(left: CostsAnswer["options"][number]["left"][number] | undefined): TableCell {
  if (left === undefined) return { text: noValue, value: null };
  const [factor, unit, decimals] = left.unit === "kg" ? [1000, " g", 0] : [100, " %", 1];
  const ends = left.ci95?.map((end) => fixed(factor * end, decimals)).join(" to ");
  return {
    text: `${fixed(factor * left.value, decimals)}${unit}${ends === undefined ? "" : ` (${ends})`}`,
    value: factor * left.value,
  };
}

/** Every figure of every configuration, with its interval or range and its source. */
function figuresPart(campaign: CampaignView, costs: Costs): HTMLElement {
  const columns = known(campaign, costs);
  const rows = costRows(costs);
  return element("section", { class: "costs-figures" }, [
    element("h2", { text: "Every figure, and where it comes from" }),
    figuresTable({
      name: "costs",
      caption:
        "In brackets the 95 % interval over runs of what was measured, else the range of what it is computed from",
      columns: ["figure", ...columns.map(({ name }) => signedLabel(campaign, name))],
      rows: rows.map((row) => [
        { text: row.unit === "" ? row.what : `${row.what}, ${row.unit}` },
        ...columns.map(({ found }) => figureCell(row.of(found), row)),
      ]),
    }),
    element("p", { class: "downloads no-print" }, [
      "With intervals and sources, SI: ",
      element("a", { href: apiPaths.export.costs, download: "costs.csv", text: "costs.csv" }),
    ]),
    element("p", { class: "reading caution", text: costCautions.thrust }),
    element("p", { class: "reading caution", text: costCautions.minutes }),
  ]);
}

function figureCell(figure: CostFigure | null, row: CostRow): TableCell {
  if (figure === null) return { text: noValue, value: null };
  const range = costRange(figure, row, fixed);
  const value = row.factor * figure.value;
  return { text: `${fixed(value, row.decimals)}${range === "" ? "" : ` (${range})`}, ${costSource(figure)}`, value };
}
