import type { Plan, PlanCell } from "../../contract/plan.ts";
import { inShown, unitName } from "../../words/amounts.ts";
import { axisWord } from "../../words/places.ts";
import type { TextFrame } from "../text/frame.ts";
import { shortName } from "../text/nameText.ts";
import { decimalsFor, fixed, noValue } from "../text/numberText.ts";
import { type TableRow, textTable } from "../text/textTable.ts";
import { wrapText } from "../text/wrapText.ts";

type OverSpread = PlanCell["half_width"];
type Figures = Pick<PlanCell, "half_width" | "detectable" | "runs_for_difference" | "runs_for_equivalence">;

/** more runs than this nobody flies */
const mostRuns = 999;
const heads = ["half-width", "detectable", "difference", "equivalence"];

/**
 * What a plan can show: per cell, and over assumed spreads where the spread is not known yet. In the unit of the
 * measure, and runs per configuration.
 */
export function planFigures(plan: Plan, frame: TextFrame): string[] {
  const tables = [cellsTable(plan, frame), assumedTable(plan, frame)].filter((lines) => lines.length > 0);
  if (tables.length === 0) return [];
  return [...tables.flatMap((lines, index) => (index === 0 ? lines : ["", ...lines])), ...legend(plan, frame)];
}

function cellsTable({ cells, unit, runs_per_configuration: runs }: Plan, frame: TextFrame): string[] {
  if (cells.length === 0) return [];
  const decimals = decimalsFor(cells.map(({ detectable }) => inShown(detectable.middle, unit)));
  const rows = [...new Set(cells.map(({ trajectory }) => trajectory))].flatMap((trajectory): TableRow[] => [
    { words: shortName(trajectory) },
    ...cells
      .filter((cell) => cell.trajectory === trajectory)
      .map((cell) => ({
        label: `  ${cell.subject} ${axisWord(cell.axis, "world")}`,
        cells: [fixed(inShown(pooled(cell), unit), decimals), ...figures(cell, unit, decimals)],
      })),
  ]);
  return [
    frame.style.heading(
      `What ${runs} runs per configuration can show (${unitName(unit)}), and how many it takes (runs)`,
    ),
    ...textTable(["sd", ...heads], rows, frame.width),
  ];
}

function pooled({ spread: { sd } }: PlanCell): number {
  return Math.hypot(...sd) / Math.SQRT2;
}

function assumedTable({ assumed, cells, unit, runs_per_configuration: runs }: Plan, frame: TextFrame): string[] {
  if (assumed.length === 0) return [];
  const decimals = decimalsFor(assumed.map(({ detectable }) => inShown(detectable.middle, unit)));
  const rows = assumed.map((row) => ({
    label: `  sd ${fixed(inShown(row.sd, unit), decimals)}`,
    cells: figures(row, unit, decimals),
  }));
  const whose = cells.length === 0 ? "how far runs spread" : "how far runs spread in some cells";
  const why = `Nothing flown says ${whose}: a single run in a configuration, or none, shows no spread between runs. The rows are assumptions, not findings; fly at least two runs per configuration and block to replace them.`;
  return [
    frame.style.heading(
      `The same over assumed spreads between runs (${unitName(unit)}; ${runs} runs per configuration)`,
    ),
    ...wrapText(why, frame.width, { first: "", rest: "  " }),
    ...textTable(heads, rows, frame.width),
  ];
}

function figures(row: Figures, unit: Plan["unit"], decimals: number): string[] {
  return [
    fixed(inShown(row.half_width.middle, unit), decimals),
    fixed(inShown(row.detectable.middle, unit), decimals),
    runsText(row.runs_for_difference),
    runsText(row.runs_for_equivalence),
  ];
}

function runsText(runs: OverSpread | null): string {
  if (runs === null) return noValue;
  const [low, middle, high] = [runs.low, runs.middle, runs.high].map((count) =>
    count > mostRuns ? `>${mostRuns}` : String(count),
  );
  return low === high ? middle! : `${middle} (${low}-${high})`;
}

function legend({ cells, assumed }: Plan, { width }: TextFrame): string[] {
  const rows: Figures[] = [...cells, ...assumed];
  const counts = rows.flatMap((row) => [row.runs_for_difference, row.runs_for_equivalence]);
  const bounds = rows.flatMap(({ half_width: { low, high } }) => (low === high ? [] : [low]));
  const lines = [
    "sd: between runs, both configurations together. half-width: of the 95 % interval to be expected. detectable: smallest true difference that gets its verdict. difference: runs to see the smallest difference that matters; equivalence: runs to show that none matters, where there is none.",
    ...(bounds.length === 0 ? [] : ["In brackets what the uncertainty of the flown spread allows, low to high."]),
    ...(counts.some((runs) => runs !== null && runs.high > mostRuns) ? [`>${mostRuns}: more than ${mostRuns}.`] : []),
    ...(counts.includes(null) ? [`${noValue}: no smallest difference is declared.`] : []),
  ];
  return wrapText(lines.join(" "), width, { first: "", rest: "  " });
}
