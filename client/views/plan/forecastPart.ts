import type { Plan, PlanCell } from "../../../src/contract/plan.ts";
import { element } from "../../app/element.ts";
import { fixed, lengthText, millimetres, noValue } from "../../app/words.ts";
import { figureFrame } from "../../figures/figureFrame.ts";
import { runsRangeFigure } from "../../figures/runsRangeFigure.ts";
import { figuresTable, type TableCell } from "../run/figuresTable.ts";

/** more runs than this nobody flies */
const mostRuns = 999;

/** What the planned number of runs could show, and what it would take, per cell; over plausible spreads where none is known. */
export function forecastPart(plan: Plan): HTMLElement {
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
            title: "Runs per configuration that each cell would need",
            caption: `Filled: to show a difference of the smallest size; open: to show that there is none as large. Line: low to high end of the scatter's uncertainty. Upright line: the ${plan.runs_per_configuration} planned in all.`,
          },
          runsRangeFigure(known, {
            planned: plan.runs_per_configuration,
            label: "Runs per configuration needed per cell, for a difference and for equivalence",
          }),
          { level: 3, wide: true },
        ),
    cells.length === 0
      ? element("p", {
          text: "The scatter between runs is not known: no configuration was flown twice under like conditions.",
        })
      : cellTable(plan),
    assumed.length === 0 ? null : assumedTable(plan),
  ]);
}

function cellTable(plan: Plan): HTMLElement {
  return figuresTable({
    name: "plan per cell",
    caption: "Per cell",
    columns: [
      "cell",
      "verdict now",
      "flown",
      "smallest difference",
      "half-width, mm",
      "detectable, mm",
      "runs for a difference",
      "runs to show there is none",
    ],
    rows: plan.cells.map((cell) => [
      { text: placeText(cell) },
      { text: cell.verdict ?? noValue },
      { text: `${cell.flown.baseline} v ${cell.flown.candidate}` },
      {
        text:
          cell.smallest_difference === null
            ? `none declared for the ${cell.subject}`
            : lengthText(cell.smallest_difference),
      },
      lengths(cell.half_width),
      lengths(cell.detectable),
      counts(cell.runs_for_difference),
      counts(cell.runs_for_equivalence),
    ]),
  });
}

function assumedTable({ assumed }: Plan): HTMLElement {
  return figuresTable({
    name: "plan over assumed scatter",
    caption: "Where the scatter between runs is unknown: over plausible standard deviations",
    columns: [
      "sd between runs, mm",
      "half-width, mm",
      "detectable, mm",
      "runs for a difference",
      "runs to show there is none",
    ],
    rows: assumed.map((row) => [
      { text: millimetres(row.sd, 2), value: row.sd },
      { text: millimetres(row.half_width.middle, 2), value: row.half_width.middle },
      { text: millimetres(row.detectable.middle, 2), value: row.detectable.middle },
      { text: row.runs_for_difference === null ? noValue : countText(row.runs_for_difference.middle) },
      { text: row.runs_for_equivalence === null ? noValue : countText(row.runs_for_equivalence.middle) },
    ]),
  });
}

export function placeText({ trajectory, subject, axis }: Pick<PlanCell, "trajectory" | "subject" | "axis">): string {
  return `${trajectory} ${subject} ${axis}`;
}

function lengths({ low, middle, high }: PlanCell["half_width"]): TableCell {
  const mm = (metres: number): string => millimetres(metres, metres >= 0.01 ? 1 : 2);
  return { text: `${mm(middle)} (${mm(low)} to ${mm(high)})`, value: middle };
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
