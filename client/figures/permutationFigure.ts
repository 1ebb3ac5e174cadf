import { scaleLinear } from "d3";
import type { MeasureUnit } from "../../src/catalogue/measures.ts";
import type { CellAnswer } from "../../src/contract/api/cellAnswers.ts";
import type { SynchronousEffect } from "../../src/contract/reasons.ts";
import { inShown, unitName } from "../../src/words/amounts.ts";
import { fixed, signedAmount } from "../app/words.ts";
import { blankDrawing, group, rowsIn } from "./axes.ts";
import type { Drawing } from "./Figure.ts";
import { edgedScale, logBottomAxis } from "./logAxes.ts";
import { bottomAxis, leftAxis } from "./plainAxis.ts";
import { drawingRoot, svg } from "./svg.ts";

const height = 280;
const edge = { left: 44, top: 52, bottom: 238 } as const;

/** How the difference would have come out under other labels: a histogram, the one flown marked, what is as extreme dark. */
export function permutationFigure(
  permutation: NonNullable<CellAnswer["permutation"]>,
  text: { width: number; title: string; description: string; decimals: number; unit: MeasureUnit },
): Drawing {
  const { edges, counts, extreme, observed } = permutation;
  const { width } = text;
  const area = { ...edge, right: width - 12 };
  const unit = unitName(text.unit);
  const per = inShown(1, text.unit);
  const shown = (value: number): number => Number((value * per).toPrecision(4));
  const domain = [edges[0]! * per, edges.at(-1)! * per] as const;
  const x = scaleLinear(domain, [area.left, area.right]);
  const most = Math.max(1, ...counts);
  const y = scaleLinear([0, most * 1.08], [area.bottom, area.top]);
  const bars = counts.flatMap((count, k) => {
    const [from, to] = [x(edges[k]! * per), x(edges[k + 1]! * per)];
    const bar = (name: string, low: number, high: number): SVGElement | null =>
      high <= low
        ? null
        : svg("rect", {
            class: name,
            x: from + 0.5,
            width: Math.max(0.5, to - from - 1),
            y: y(high),
            height: y(low) - y(high),
          });
    return [bar("bar extreme", 0, extreme[k]!), bar("bar", extreme[k]!, count)];
  });
  const at = x(observed * per);
  const label = `as flown ${signedAmount(observed, text.unit, text.decimals)} ${unit}`;
  const end = at > (area.left + area.right) / 2;
  return {
    svg: drawingRoot({ width, height }, text, [
      leftAxis({
        scale: y,
        domain: [0, most * 1.08],
        at: area.left,
        grid: area.right,
        label: "arrangements",
        ticks: wholeTicks(most),
      }),
      bottomAxis({
        scale: x,
        domain,
        at: area.bottom,
        grid: area.bottom,
        label: `difference under rearranged labels, ${unit}`,
      }),
      ...bars,
      svg("line", {
        class: "mirrored",
        x1: x(-observed * per),
        x2: x(-observed * per),
        y1: area.top,
        y2: area.bottom,
      }),
      svg("line", { class: "observed", x1: at, x2: at, y1: area.top, y2: area.bottom }),
      svg("text", {
        class: "strong",
        x: at + (end ? 4 : -4),
        y: 14,
        "text-anchor": end ? "end" : "start",
        text: label,
      }),
    ]),
    table: {
      columns: [`from (${unit})`, `to (${unit})`, "arrangements", "of these at least as far from 0 as flown"],
      rows: counts.map((count, k) => [shown(edges[k]!), shown(edges[k + 1]!), count, extreme[k]!]),
    },
  };
}

function wholeTicks(most: number): number[] {
  const step = Math.max(1, Math.ceil(most / 4));
  return Array.from({ length: Math.floor(most / step) + 1 }, (_, k) => k * step);
}

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
    // without an upper limit the baseline is not distinguished from zero, and no ratio is the likeliest
    if (ratio !== null && interval?.[1] != null) {
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
