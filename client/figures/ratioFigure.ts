import type { SynchronousEffect } from "../../src/contract/reasons.ts";
import { fixed } from "../app/words.ts";
import { blankDrawing, group, rowsIn } from "./axes.ts";
import type { Drawing } from "./Figure.ts";
import { edgedScale, logBottomAxis } from "./logAxes.ts";

const top = 16;
/** ratios beyond these are drawn at the edge, with an arrow */
const edges = [0.05, 5] as const;

/** Displacement ratios on a logarithmic axis, one line each: box, interval, an arrow where an end lies beyond the drawing. */
export function ratioFigure(
  effects: readonly SynchronousEffect[],
  options: { width: number; label: string; place: (one: SynchronousEffect) => string },
): Drawing {
  const rows = rowsIn(effects.length, options.width, { names: 120, step: 26 });
  const { height } = rows;
  const svg = blankDrawing(options.width, top + height + 50, options.label);
  svg.classed("run-drawing ratio-drawing", true);
  const x = edgedScale(edges, rows.width);
  const panel = group(svg, rows.left, top);
  logBottomAxis(group(panel, 0, height), x, { lines: height, label: "displacement ratio: with over without" });
  panel.append("line").attr("class", "zero").attr("x1", x(1)).attr("x2", x(1)).attr("y2", height);
  effects.forEach((one, row) => {
    const y = rows.middle(row);
    rows.name(panel, row, options.place(one));
    const { ratio, ratio_ci95: interval } = one;
    if (interval !== null) {
      const [low, high] = interval;
      const [a, b] = [x(Math.max(low, edges[0])), x(high === null ? edges[1] : Math.min(high, edges[1]))];
      const begin = low < edges[0] ? `M${a + 6},${y - 4}L${a},${y}L${a + 6},${y + 4}` : `M${a},${y - 5}v10`;
      const end =
        high === null || high > edges[1] ? `M${b - 6},${y - 4}L${b},${y}L${b - 6},${y + 4}` : `M${b},${y - 5}v10`;
      panel.append("path").attr("class", "interval").attr("d", `${begin}M${a},${y}H${b}${end}`);
    }
    if (ratio !== null) {
      const at = x(Math.min(Math.max(ratio, edges[0]), edges[1]));
      panel
        .append("rect")
        .attr("class", "estimate")
        .attr("x", at - 5)
        .attr("y", y - 5)
        .attr("width", 10)
        .attr("height", 10);
    }
  });
  return {
    svg: svg.node()!,
    table: {
      columns: ["what", "ratio", "from", "to"],
      rows: effects.map((one) => [
        options.place(one),
        one.ratio === null ? null : Number(fixed(one.ratio, 4)),
        one.ratio_ci95 === null ? null : Number(fixed(one.ratio_ci95[0], 4)),
        one.ratio_ci95?.[1] == null ? null : Number(fixed(one.ratio_ci95[1], 4)),
      ]),
    },
  };
}
