import type { PlanCell } from "../../src/contract/plan.ts";
import { blankDrawing, group, rowsIn } from "./axes.ts";
import type { Drawing } from "./Figure.ts";
import { edgedScale, logBottomAxis } from "./logAxes.ts";

const top = 14;
/** runs beyond these are drawn at the edge */
const edges = [2, 1000] as const;

/** Runs needed per cell on one logarithmic axis: for a difference above, for equivalence beneath, and the number planned. */
export function runsRangeFigure(
  cells: readonly PlanCell[],
  options: {
    readonly width: number;
    readonly planned: number;
    readonly label: string;
    readonly place: (cell: PlanCell) => string;
  },
): Drawing {
  const rows = rowsIn(cells.length, options.width, { names: 170, step: 30 });
  const { height } = rows;
  const svg = blankDrawing(options.width, top + height + 50, options.label);
  svg.classed("run-drawing", true);
  const x = edgedScale(edges, rows.width);
  const panel = group(svg, rows.left, top);
  logBottomAxis(group(panel, 0, height), x, { lines: height, label: "runs per configuration" });
  panel
    .append("line")
    .attr("class", "observed")
    .attr("x1", x(options.planned))
    .attr("x2", x(options.planned))
    .attr("y2", height);
  cells.forEach((cell, row) => {
    const y = rows.middle(row);
    rows.name(panel, row, options.place(cell));
    const lines = [
      { runs: cell.runs_for_difference, at: y - 5, name: "estimate" },
      { runs: cell.runs_for_equivalence, at: y + 6, name: "run other" },
    ];
    for (const { runs, at, name } of lines) {
      if (runs === null) continue;
      panel
        .append("path")
        .attr("class", "interval")
        .attr("d", `M${x(runs.low)},${at}H${x(runs.high)}`);
      panel.append("circle").attr("class", name).attr("cx", x(runs.middle)).attr("cy", at).attr("r", 4);
    }
  });
  const counted = (runs: PlanCell["runs_for_difference"]): (number | null)[] =>
    runs === null ? [null, null, null] : [runs.low, runs.middle, runs.high];
  return {
    svg: svg.node()!,
    table: {
      columns: [
        "cell",
        ...["low", "middle", "high"].map((end) => `runs for a difference, ${end}`),
        ...["low", "middle", "high"].map((end) => `runs for equivalence, ${end}`),
      ],
      rows: cells.map((cell) => [
        options.place(cell),
        ...counted(cell.runs_for_difference),
        ...counted(cell.runs_for_equivalence),
      ]),
    },
  };
}
