import { scaleLinear } from "d3";
import type { CyclesAnswer } from "../../src/contract/api/runAnswers.ts";
import { axes } from "../../src/foundation/tracks.ts";
import { type AxisNames, axisLabel } from "../../src/words/places.ts";
import { bottomAxis, group, leftAxis, padded, runDrawing } from "./axes.ts";
import type { Drawing, Tone } from "./Figure.ts";
import { panelsIn } from "./panels.ts";
import { tableMillimetres } from "./uncertainMillimetres.ts";

const at = (x: number, y: number): string => `${x.toFixed(2)},${y.toFixed(2)}`;

/**
 * Path data of points some of which are missing: a missing one ends the line and the next begins another, nothing is
 * drawn across. A point with none beside it becomes a line of no length, which round caps show as a dot.
 *
 * @param points  pixels; null where there is none
 */
export function brokenLine(points: readonly (readonly [number, number] | null)[]): string {
  let path = "";
  let length = 0;
  for (const point of points) {
    if (point === null) {
      if (length === 1) path += "h0";
      length = 0;
      continue;
    }
    path += `${length === 0 ? "M" : "L"}${at(point[0], point[1])}`;
    length++;
  }
  return length === 1 ? `${path}h0` : path;
}

const panelHeight = 220;

/** Error over cycle phase, one panel per axis with one error scale: every cycle thin, their mean thick. */
export function phaseFigure(
  answer: CyclesAnswer,
  options: { width: number; tone: Tone; label: string; names: AxisNames },
): Drawing {
  const panels = panelsIn(3, options.width, { left: 62, between: 36, top: 30, height: panelHeight, foot: 50 });
  const panelWidth = panels.width;
  const svg = runDrawing(panels.height, options);
  const degrees = answer.phase.map((phase) => (phase * 180) / Math.PI);
  const x = scaleLinear().domain([0, 360]).range([0, panelWidth]);
  let [low, high] = [0, 0];
  for (const cycle of answer.cycles) {
    for (const axis of axes) {
      for (const value of cycle[axis]) {
        if (value === null) continue;
        if (value < low) low = value;
        if (value > high) high = value;
      }
    }
  }
  const y = scaleLinear().domain(padded(low, high)).range([panelHeight, 0]);
  axes.forEach((axis, k) => {
    const panel = group(svg, panels.at(k).x, panels.at(k).y);
    leftAxis(panel, y, {
      per: 1e3,
      lines: panelWidth,
      label: `${axisLabel(axis, options.names)} error, mm`,
      silent: !panels.isFirst(k),
    });
    bottomAxis(group(panel, 0, panelHeight), x, { values: [0, 90, 180, 270, 360], label: "cycle phase, degrees" });
    panel.append("line").attr("class", "zero").attr("x2", panelWidth).attr("y1", y(0)).attr("y2", y(0));
    const lineOf = (values: readonly (number | null)[]): string =>
      brokenLine(values.map((value, bin) => (value === null ? null : [x(degrees[bin]!), y(value)])));
    for (const cycle of answer.cycles) panel.append("path").attr("class", "curve thin").attr("d", lineOf(cycle[axis]));
    panel.append("path").attr("class", "curve mean halo-line").attr("d", lineOf(answer.mean[axis]));
    panel.append("path").attr("class", "curve mean").attr("d", lineOf(answer.mean[axis]));
  });
  return {
    svg: svg.node()!,
    table: {
      columns: ["phase, degrees", ...axes.map((axis) => `mean ${axis} error, mm`), "cycles behind the mean"],
      rows: degrees.map((phase, bin) => [
        Number(phase.toFixed(3)),
        ...axes.map((axis) => {
          const value = answer.mean[axis][bin] ?? null;
          return value === null ? null : tableMillimetres(value);
        }),
        answer.behind[bin] ?? 0,
      ]),
    },
  };
}
