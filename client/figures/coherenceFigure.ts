import { scaleLinear } from "d3";
import type { SpectrumEvaluation } from "../../src/contract/runExtras.ts";
import { axes } from "../../src/foundation/tracks.ts";
import { blankDrawing, bottomAxis, group, leftAxis } from "./axes.ts";
import type { Drawing, Tone } from "./Figure.ts";
import { panelsIn } from "./panels.ts";

export type ArmCoherence = NonNullable<SpectrumEvaluation["coherence"]>;

const panelHeight = 176;

/**
 * Coherence of the vehicle's error with the arm's motion over frequency, one panel per axis; dashed the level that chance
 * exceeds in 5 of 100 bins; the cycle's harmonics marked.
 */
export function coherenceFigure(
  coherence: ArmCoherence,
  options: { width: number; tone: Tone; label: string },
): Drawing {
  const panels = panelsIn(3, options.width, { left: 62, between: 36, top: 36, height: panelHeight, foot: 58 });
  const panelWidth = panels.width;
  const svg = blankDrawing(options.width, panels.height, options.label);
  svg.classed(`run-drawing tone-${options.tone}`, true);
  const { frequency, harmonics, significance } = coherence;
  const x = scaleLinear()
    .domain([0, frequency.at(-1) ?? 1])
    .range([0, panelWidth]);
  const y = scaleLinear().domain([0, 1]).range([panelHeight, 0]);
  axes.forEach((axis, k) => {
    const panel = group(svg, panels.at(k).x, panels.at(k).y);
    leftAxis(panel, y, { values: [0, 0.5, 1], lines: panelWidth, label: `${axis}`, silent: !panels.isFirst(k) });
    bottomAxis(group(panel, 0, panelHeight), x, { label: "frequency, Hz" });
    for (const { k: number, frequency: at } of harmonics) {
      if (at > x.domain()[1]!) continue;
      panel
        .append("line")
        .attr("class", "harmonic")
        .attr("x1", x(at))
        .attr("x2", x(at))
        .attr("y1", 0)
        .attr("y2", panelHeight);
      panel
        .append("text")
        .attr("class", "number")
        .attr("x", x(at))
        .attr("y", -3)
        .attr("text-anchor", "middle")
        .text(`${number}×`);
    }
    panel
      .append("line")
      .attr("class", "noise-floor")
      .attr("x2", panelWidth)
      .attr("y1", y(significance))
      .attr("y2", y(significance));
    const line = frequency.map((f, i) => `${x(f).toFixed(1)},${y(coherence[axis][i]!).toFixed(1)}`);
    panel
      .append("path")
      .attr("class", "curve mean")
      .attr("d", `M${line.join("L")}`);
  });
  return {
    svg: svg.node()!,
    table: {
      columns: ["frequency, Hz", ...axes.map((axis) => `coherence ${axis}`)],
      rows: frequency.map((f, i) => [f, ...axes.map((axis) => Number(coherence[axis][i]!.toFixed(4)))]),
    },
  };
}
