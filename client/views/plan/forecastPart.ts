import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { Plan, PlanCell } from "../../../src/contract/plan.ts";
import { inShown, unitName } from "../../../src/words/amounts.ts";
import { axisAt } from "../../../src/words/places.ts";
import { element } from "../../app/element.ts";
import { amount, fixed, noValue, sizeText } from "../../app/words.ts";
import { figureFrame } from "../../figures/figureFrame.ts";
import { runsRangeFigure } from "../../figures/runsRangeFigure.ts";
import { figuresTable, type TableCell } from "../run/figuresTable.ts";

/** more runs than this nobody flies */
const mostRuns = 999;

/** What the planned number of runs could show, and what it would take, per cell; over plausible spreads where none is known. */
export function forecastPart(campaign: CampaignView, plan: Plan): HTMLElement {
  const place = (cell: PlanCell): string => `${cell.trajectory} ${cell.subject} ${axisAt(campaign.judged_in, cell)}`;
  const { cells, assumed } = plan;
  const known = cells.filter(({ runs_for_difference: runs }) => runs !== null);
  return element("section", { class: "plan-forecast" }, [
    element("h2", { text: "What it takes" }),
    element("p", {
      class: "reading",
      text: `With ${plan.runs_per_configuration} runs of each configuration per trajectory in all. Half-width: how far the 95 % interval will reach to either side. Detectable: the true difference found with ${fixed(100 * plan.power, 0)} % chance among ${plan.family} cells. Runs are totals per configuration, to show the smallest difference that matters, or to show that there is none as large. In brackets what the uncertainty of the flown scatter allows.`,
    }),
    known.length === 0
      ? null
      : figureFrame(
          {
            name: "runs needed",
            how: "methods.html#runs-needed",
            title: "Runs per configuration that each cell would need",
            caption: `Filled: to show a difference of the smallest size; open: to show that there is none as large. Line: low to high end of the scatter's uncertainty. Upright line: the ${plan.runs_per_configuration} planned in all.`,
          },
          (width) =>
            runsRangeFigure(known, {
              width,
              place,
              planned: plan.runs_per_configuration,
              label: "Runs per configuration needed per cell, for a difference and for equivalence",
            }),
          { level: 3, wide: true },
        ),
    cells.length === 0
      ? element("p", {
          text: "The scatter between runs is not known: no configuration was flown twice under like conditions.",
        })
      : cellTable(plan, place),
    assumed.length === 0 ? null : assumedTable(plan),
  ]);
}

function cellTable(plan: Plan, place: (cell: PlanCell) => string): HTMLElement {
  return figuresTable({
    name: "plan per cell",
    caption: "Per cell",
    columns: [
      "cell",
      "verdict now",
      "flown",
      "smallest difference",
      `half-width, ${unitName(plan.unit)}`,
      `detectable, ${unitName(plan.unit)}`,
      "runs for a difference",
      "runs to show there is none",
    ],
    rows: plan.cells.map((cell) => [
      { text: place(cell) },
      { text: cell.verdict ?? noValue },
      { text: `${cell.flown.baseline} v ${cell.flown.candidate}` },
      {
        text:
          cell.smallest_difference === null
            ? `none declared for the ${cell.subject}`
            : sizeText(cell.smallest_difference, plan.unit),
      },
      amounts(cell.half_width, plan.unit),
      amounts(cell.detectable, plan.unit),
      counts(cell.runs_for_difference),
      counts(cell.runs_for_equivalence),
    ]),
  });
}

function assumedTable(plan: Plan): HTMLElement {
  return figuresTable({
    name: "plan over assumed scatter",
    caption: "Where the scatter between runs is unknown: over plausible standard deviations",
    columns: [
      `sd between runs, ${unitName(plan.unit)}`,
      `half-width, ${unitName(plan.unit)}`,
      `detectable, ${unitName(plan.unit)}`,
      "runs for a difference",
      "runs to show there is none",
    ],
    rows: plan.assumed.map((row) => [
      { text: amount(row.sd, plan.unit, 2), value: row.sd },
      { text: amount(row.half_width.middle, plan.unit, 2), value: row.half_width.middle },
      { text: amount(row.detectable.middle, plan.unit, 2), value: row.detectable.middle },
      { text: row.runs_for_difference === null ? noValue : countText(row.runs_for_difference.middle) },
      { text: row.runs_for_equivalence === null ? noValue : countText(row.runs_for_equivalence.middle) },
    ]),
  });
}

function amounts({ low, middle, high }: PlanCell["half_width"], unit: Plan["unit"]): TableCell {
  const shown = (value: number): string => amount(value, unit, inShown(value, unit) >= 10 ? 1 : 2);
  return { text: `${shown(middle)} (${shown(low)} to ${shown(high)})`, value: middle };
}

function counts(runs: PlanCell["runs_for_difference"]): TableCell {
  if (runs === null) return { text: noValue, value: null };
  const { low, middle, high } = runs;
  const range = low === high ? "" : ` (${countText(low)} to ${countText(high)})`;
  return { text: `${countText(middle)}${range}`, value: middle };
}

function countText(runs: number): string {
  return runs > mostRuns ? `more than ${mostRuns}` : String(runs);
}
