import type { HoverAnswer } from "../../src/contract/api/runAnswers.ts";
import type { HoverFigures } from "../../src/contract/evaluation.ts";
import { bottomAxis, group, leftAxis, runDrawing } from "./axes.ts";
import type { Drawing, Tone } from "./Figure.ts";
import { equalScales, pixelsPerMetre } from "./plainAxis.ts";
import { tableMillimetres } from "./uncertainMillimetres.ts";

const largest = 340;
const left = 62;
const top = 30;

/**
 * Where the subject was in the hold window, seen from above, about its setpoint; circles that hold half and 95 % of the
 * positions, solid about their mean and dashed about the setpoint. Equal scales.
 */
export function hoverFigure(
  answer: HoverAnswer,
  figures: HoverFigures,
  options: { width: number; tone: Tone; label: string },
): Drawing {
  const size = Math.min(largest, options.width - left - 24);
  const svg = runDrawing(top + size + 44, options);
  const mean = [figures.x.bias, figures.y.bias] as const;
  const circles = [
    { name: "about-setpoint", at: [0, 0] as const, r: figures.about_setpoint.r95, text: "R95" },
    { name: "about-setpoint", at: [0, 0] as const, r: figures.about_setpoint.r50, text: "R50" },
    { name: "about-mean", at: mean, r: figures.about_mean.r95, text: "R95" },
    { name: "about-mean", at: mean, r: figures.about_mean.r50, text: "R50" },
  ];
  const reach = (part: 0 | 1, values: readonly number[]): [number, number] => {
    let low = Math.min(...circles.map(({ at, r }) => at[part] - r));
    let high = Math.max(...circles.map(({ at, r }) => at[part] + r));
    for (const value of values) {
      if (value < low) low = value;
      if (value > high) high = value;
    }
    return [low, high];
  };
  const extent = { across: reach(0, answer.x), up: reach(1, answer.y) };
  const perMetre = pixelsPerMetre([extent], { width: size, height: size, least: 1e-4 });
  const { x, y } = equalScales(extent, { width: size, height: size, perMetre });
  const panel = group(svg, left, top);
  bottomAxis(group(panel, 0, size), x, { per: 1e3, ticks: 6, lines: size, label: "x error, mm" });
  leftAxis(panel, y, { per: 1e3, ticks: 6, lines: size, label: "y error, mm" });
  panel
    .append("path")
    .attr("class", "zero")
    .attr("d", `M${x(0)},0v${size}M0,${y(0)}h${size}`);
  panel
    .append("path")
    .attr("class", "dots")
    .attr("d", answer.x.map((value, k) => `M${x(value).toFixed(1)},${y(answer.y[k]!).toFixed(1)}h0`).join(""));
  for (const { name, at, r, text } of circles) {
    panel
      .append("circle")
      .attr("class", `radius ${name}`)
      .attr("cx", x(at[0]))
      .attr("cy", y(at[1]))
      .attr("r", r * perMetre);
    // the two families are lettered on opposite sides, so that close circles keep their names apart
    const side = name === "about-mean" ? 1 : -1;
    panel
      .append("text")
      .attr("class", "number halo")
      .attr("x", x(at[0]) + side * (r * perMetre * Math.SQRT1_2 + 3))
      .attr("y", y(at[1]) - side * (r * perMetre * Math.SQRT1_2 + 3) + (side < 0 ? 8 : 0))
      .attr("text-anchor", side > 0 ? "start" : "end")
      .text(text);
  }
  const cross = (at: readonly [number, number], name: string, shape: string): void => {
    panel
      .append("path")
      .attr("class", name)
      .attr("transform", `translate(${x(at[0])},${y(at[1])})`)
      .attr("d", shape);
  };
  cross([0, 0], "mark setpoint-mark", "M-8,0H8M0,-8V8");
  cross(mean, "mark mean-mark", "M-6,-6L6,6M-6,6L6,-6");
  return {
    svg: svg.node()!,
    table: {
      columns: ["time, s", "x error, mm", "y error, mm", "z error, mm"],
      rows: answer.t.map((t, k) => [
        Number(t.toFixed(6)),
        tableMillimetres(answer.x[k]!),
        tableMillimetres(answer.y[k]!),
        tableMillimetres(answer.z[k]!),
      ]),
    },
  };
}
