import { scaleLinear } from "d3";
import type { BenchCell } from "../../src/contract/benchEvaluation.ts";
import { channelWords } from "../../src/words/benchWords.ts";
import { fixed } from "../app/words.ts";
import { blankDrawing, group, rowsIn } from "./axes.ts";
import type { Drawing } from "./Figure.ts";
import { bottomAxis, domainAround } from "./plainAxis.ts";

const top = 16;
/** of a letter of a name, pixels, on the broad side */
const letter = 7;

/**
 * What the counterweights take away, per cent of the baseline, a line per cell with its interval: at 0 nothing, at 100 all, beyond
 * it more than there was.
 *
 * @param cells  of one trajectory
 */
export function reductionFigure(
  cells: readonly BenchCell[],
  options: { readonly width: number; readonly label: string },
): Drawing {
  const shares = cells.flatMap(({ reduction, ci95 }) =>
    [...(reduction === null ? [] : [reduction]), ...(ci95 ?? [])].map((share) => 100 * share),
  );
  const domain = domainAround([0, 100, ...shares]);
  const nameOf = (cell: BenchCell): string => `${channelWords[cell.channel]}, ${cell.speed_label ?? "no speed filed"}`;
  const longest = Math.max(...cells.map((cell) => nameOf(cell).length));
  const rows = rowsIn(cells.length, options.width, { names: 24 + letter * longest, step: 24 });
  const { height } = rows;
  const x = scaleLinear().domain(domain).range([0, rows.width]);
  const svg = blankDrawing(options.width, top + height + 50, options.label);
  svg.classed("run-drawing", true);
  const panel = group(svg, rows.left, top);
  panel.node()!.append(bottomAxis({ scale: x, domain, at: height, grid: 0, label: "taken away, % of the baseline" }));
  for (const [share, name] of [
    [0, "zero"],
    [100, "line target"],
  ] as const)
    panel.append("line").attr("class", name).attr("x1", x(share)).attr("x2", x(share)).attr("y2", height);
  cells.forEach((cell, row) => {
    const y = rows.middle(row);
    rows.name(panel, row, nameOf(cell));
    if (cell.ci95 !== null) {
      const [a, b] = cell.ci95.map((share) => x(100 * share));
      panel
        .append("path")
        .attr("class", "interval")
        .attr("d", `M${a},${y - 5}v10M${a},${y}H${b}M${b},${y - 5}v10`);
    }
    if (cell.reduction === null) return;
    panel
      .append("rect")
      .attr("class", "estimate")
      .attr("x", x(100 * cell.reduction) - 4)
      .attr("y", y - 4)
      .attr("width", 8)
      .attr("height", 8);
  });
  const round = (share: number | null | undefined): number | null =>
    share == null ? null : Number(fixed(100 * share, 1));
  return {
    svg: svg.node()!,
    table: {
      columns: ["speed", "channel", "taken away, %", "from, %", "to, %", "refits", "verdict"],
      rows: cells.map(({ speed_label, channel, reduction, ci95, refits, verdict }) => [
        speed_label,
        channelWords[channel],
        round(reduction),
        round(ci95?.[0]),
        round(ci95?.[1]),
        refits,
        verdict,
      ]),
    },
  };
}
