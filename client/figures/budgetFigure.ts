import { scaleLinear } from "d3";
import type { BudgetEvaluation } from "../../src/contract/runExtras.ts";
import { fixed } from "../app/words.ts";
import { blankDrawing, bottomAxis, drawingId, group, rowLabel } from "./axes.ts";
import type { Drawing } from "./Figure.ts";
import { tableMillimetres } from "./uncertainMillimetres.ts";

const channels = ["x", "y", "z", "norm"] as const;
const parts = ["vehicle", "attitude", "arm"] as const;
export const partWords = { vehicle: "vehicle", attitude: "tilt × reach", arm: "arm" } as const;

const left = 150;
const top = 34;
const barWidth = 700;
const barHeight = 26;
const step = 42;

type Budget = Pick<BudgetEvaluation, "x" | "y" | "z" | "norm">;
type Part = (typeof parts)[number];
type Fills = Readonly<Record<Part, string | null>>;

/**
 * Shares of the parts in the effector's mean square, a bar per axis: what adds goes to the right of zero, what makes up for
 * another part to the left. Patterns tell the parts apart without colour.
 */
export function budgetFigure(budget: Budget, options: { label: string }): Drawing {
  const svg = blankDrawing(left + barWidth + 110, top + channels.length * step + 46, options.label);
  svg.classed("run-drawing budget-drawing", true);
  const shares = channels.map((channel) => budget[channel].shares);
  const least = Math.min(
    0,
    ...shares.map((own) => parts.reduce((sum, part) => sum + Math.min(0, own?.[part] ?? 0), 0)),
  );
  const most = Math.max(1, ...shares.map((own) => parts.reduce((sum, part) => sum + Math.max(0, own?.[part] ?? 0), 0)));
  const x = scaleLinear().domain([least, most]).range([0, barWidth]);
  const fills = patternsIn(svg);
  const panel = group(svg, left, top);
  channels.forEach((channel, row) => {
    const y = row * step;
    rowLabel(
      panel,
      y + barHeight / 2,
      `${channel === "norm" ? "all axes" : channel}, ${fixed(1e3 * budget[channel].rms, 2)} mm`,
    );
    const own = budget[channel].shares;
    if (own !== null) drawBar(group(panel, 0, y), own, x, fills);
  });
  const foot = channels.length * step - step + barHeight + 10;
  bottomAxis(group(panel, 0, foot), x, { per: 100, ticks: 6, label: "share of the mean square, %" });
  panel.append("line").attr("class", "zero").attr("x1", x(0)).attr("x2", x(0)).attr("y1", -4).attr("y2", foot);
  drawLegend(group(panel, x(0), -16, "legend"), fills);
  return { svg: svg.node()!, table: tableOf(budget) };
}

/** Defines the patterns of the parts; null: a part is filled by its class. */
function patternsIn(svg: ReturnType<typeof blankDrawing>): Fills {
  const [hatch, dots] = [drawingId("hatch"), drawingId("dots")];
  const defs = svg.append("defs");
  const pattern = defs.append("pattern").attr("id", hatch).attr("width", 6).attr("height", 6);
  pattern.attr("patternUnits", "userSpaceOnUse").attr("patternTransform", "rotate(45)");
  pattern.append("rect").attr("class", "part-attitude").attr("width", 6).attr("height", 6);
  pattern.append("rect").attr("class", "part-line").attr("width", 2).attr("height", 6);
  const dotted = defs.append("pattern").attr("id", dots).attr("width", 8).attr("height", 8);
  dotted.attr("patternUnits", "userSpaceOnUse");
  dotted.append("rect").attr("class", "part-ground").attr("width", 8).attr("height", 8);
  dotted.append("circle").attr("class", "part-dot").attr("cx", 4).attr("cy", 4).attr("r", 1.2);
  return { vehicle: null, attitude: `url(#${hatch})`, arm: `url(#${dots})` };
}

function drawBar(
  bar: ReturnType<typeof group>,
  shares: Readonly<Record<Part, number>>,
  x: (share: number) => number,
  fills: Fills,
): void {
  let [right, back] = [0, 0];
  for (const part of parts) {
    const share = shares[part];
    const [from, to] = share >= 0 ? [right, right + share] : [back + share, back];
    if (share >= 0) right = to;
    else back = from;
    const width = Math.max(0, x(to) - x(from));
    const piece = bar.append("rect").attr("class", `part part-${part}`).attr("x", x(from)).attr("y", 0);
    piece.attr("width", width).attr("height", barHeight);
    if (fills[part] !== null) piece.attr("fill", fills[part]);
    if (width < 30) continue;
    bar
      .append("text")
      .attr("class", "number halo")
      .attr("x", (x(from) + x(to)) / 2)
      .attr("y", barHeight / 2)
      .attr("dy", "0.34em")
      .attr("text-anchor", "middle")
      .text(`${Math.round(100 * share)} %`);
  }
}

function drawLegend(legend: ReturnType<typeof group>, fills: Fills): void {
  parts.forEach((part, k) => {
    const at = 120 * k;
    const mark = legend.append("rect").attr("class", `part part-${part}`).attr("x", at).attr("y", -10);
    mark.attr("width", 14).attr("height", 12);
    if (fills[part] !== null) mark.attr("fill", fills[part]);
    legend
      .append("text")
      .attr("class", "number")
      .attr("x", at + 19)
      .attr("y", 0)
      .text(partWords[part]);
  });
}

function tableOf(budget: Budget): Drawing["table"] {
  return {
    columns: [
      "axis",
      "rms, mm",
      ...parts.flatMap((part) => [`${partWords[part]} rms, mm`, `${partWords[part]} share`]),
    ],
    rows: channels.map((channel) => [
      channel === "norm" ? "all axes" : channel,
      tableMillimetres(budget[channel].rms),
      ...parts.flatMap((part) => [
        tableMillimetres(budget[channel].parts[part]),
        budget[channel].shares === null ? null : Number(budget[channel].shares[part].toFixed(4)),
      ]),
    ]),
  };
}
