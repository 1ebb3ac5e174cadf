import type { SeriesAnswer } from "../../src/contract/api/runAnswers.ts";
import { type Axis, axes } from "../../src/foundation/tracks.ts";
import { type AxisNames, axisLabel } from "../../src/words/places.ts";
import { blankDrawing, bottomAxis, drawingId, type Group, group, leftAxis } from "./axes.ts";
import type { ComparedCurve } from "./comparisonFigure.ts";
import { legend, legendRows } from "./comparisonFigure.ts";
import type { Drawing } from "./Figure.ts";
import { panelsIn } from "./panels.ts";
import type { PathView } from "./pathFigure.ts";
import { equalScales, pixelsPerMetre } from "./plainAxis.ts";
import { tableMillimetres } from "./uncertainMillimetres.ts";

/** A value per axis and bin of cycle phase, metres; null in a bin without a sample. */
export type OverPhase = Readonly<Record<Axis, readonly (number | null)[]>>;

/**
 * The commanded path over cycle phase: mean of the command's samples in each bin of the phase, over the cycles.
 *
 * @param cycles  windows, seconds, ends not included
 */
export function commandOverPhase(
  command: SeriesAnswer["path"]["command"],
  cycles: readonly (readonly [number, number])[],
  bins: number,
): OverPhase {
  const counts = new Array<number>(bins).fill(0);
  const sums = { x: counts.slice(), y: counts.slice(), z: counts.slice() };
  for (const line of command)
    line.t.forEach((t, k) => {
      const cycle = cycles.find(([from, to]) => from <= t && t < to);
      if (cycle === undefined) return;
      const bin = Math.min(bins - 1, Math.floor((bins * (t - cycle[0])) / (cycle[1] - cycle[0])));
      counts[bin]!++;
      for (const axis of axes) sums[axis][bin]! += line[axis][k]!;
    });
  const mean = (axis: Axis): (number | null)[] => counts.map((n, bin) => (n === 0 ? null : sums[axis][bin]! / n));
  return { x: mean("x"), y: mean("y"), z: mean("z") };
}

/** A mean path: where the error of a phase, so many times magnified, leads off the command of that phase. */
export function magnified(command: OverPhase, error: OverPhase, times: number): OverPhase {
  const of = (axis: Axis): (number | null)[] =>
    command[axis].map((at, bin) => {
      const off = error[axis][bin];
      return at === null || off === null || off === undefined ? null : at + times * off;
    });
  return { x: of("x"), y: of("y"), z: of("z") };
}

const [tallest, lowest] = [340, 120];

/** Mean paths of what is compared on the commanded one, in two views of one scale; their deviation from it `times` magnified. */
export function meanPathsFigure(
  command: OverPhase,
  paths: readonly (Pick<ComparedCurve, "name" | "tone"> & { readonly error: OverPhase })[],
  options: { width: number; label: string; views: readonly PathView[]; names: AxisNames; times: number },
): Drawing {
  const { times, views, width } = options;
  const origin = (axis: Axis): number => {
    const [low, high] = extentOf([command], axis);
    return Math.round(500 * (low + high)) / 1e3;
  };
  const origins = { x: origin("x"), y: origin("y"), z: origin("z") };
  const drawn = paths.map((path) => ({ ...path, at: magnified(command, path.error, times) }));
  const about = (axis: Axis): [number, number] => {
    const [low, high] = extentOf([command, ...drawn.map(({ at }) => at)], axis);
    return [low - origins[axis], high - origins[axis]];
  };
  const rows = legendRows(drawn, width - 76);
  const head = 18 * rows.length + 8;
  const grid = (height: number) => panelsIn(views.length, width, { left: 62, between: 100, top: 60, height, foot: 44 });
  const extents = views.map(({ across, up }) => ({ across: about(across), up: about(up) }));
  const panelWidth = grid(0).width;
  const perMetre = pixelsPerMetre(extents, { width: panelWidth, height: tallest, least: 1e-3 });
  const needed = 1.2 * perMetre * Math.max(...extents.map(({ up }) => up[1] - up[0]));
  const panelHeight = Math.min(tallest, Math.max(lowest, Math.ceil(needed)));
  const panels = grid(panelHeight);
  const svg = blankDrawing(width, panels.height + head, options.label);
  svg.classed("run-drawing compared", true);
  for (const [k, row] of rows.entries()) legend(group(svg, 62, 14 + 18 * k), row);
  const clip = drawingId("paths");
  svg.append("clipPath").attr("id", clip).append("rect").attr("width", panelWidth).attr("height", panelHeight);
  views.forEach((view, k) => {
    const panel = group(svg, panels.at(k).x, panels.at(k).y + head);
    const { x, y } = equalScales(extents[k]!, { width: panelWidth, height: panelHeight, perMetre });
    const axisWords = (axis: Axis): string => `${axisLabel(axis, options.names)}, mm`;
    bottomAxis(group(panel, 0, panelHeight), x, {
      per: 1e3,
      ticks: Math.min(7, panelWidth / 60),
      lines: panelHeight,
      label: axisWords(view.across),
    });
    leftAxis(panel, y, { per: 1e3, ticks: panelHeight / 55, lines: panelWidth, label: axisWords(view.up) });
    panel.append("text").attr("class", "panel-title").attr("x", 0).attr("y", -32).text(view.title);
    const inside = panel.append("g").attr("clip-path", `url(#${clip})`) as unknown as Group;
    const pathOf = (at: OverPhase): string =>
      closedPath(at[view.across], at[view.up], (across, up) => [
        x(across - origins[view.across]),
        y(up - origins[view.up]),
      ]);
    inside.append("path").attr("class", "path command").attr("d", pathOf(command));
    for (const { tone, at } of drawn)
      inside
        .append("g")
        .attr("class", `compared-${tone}`)
        .append("path")
        .attr("class", "compared-mean")
        .attr("d", pathOf(at));
  });
  return { svg: svg.node()!, table: tableOf(command, paths) };
}

function extentOf(paths: readonly OverPhase[], axis: Axis): [number, number] {
  const values = paths.flatMap((path) => path[axis]).filter((value) => value !== null);
  return values.length === 0 ? [0, 0] : [Math.min(...values), Math.max(...values)];
}

/** A line through the bins of a cycle and back to the first; broken where a bin has no sample. */
function closedPath(
  across: readonly (number | null)[],
  up: readonly (number | null)[],
  place: (across: number, up: number) => [number, number],
): string {
  let path = "";
  let down = false;
  for (let k = 0; k <= across.length; k++) {
    const [u, v] = [across[k % across.length], up[k % across.length]];
    const known = u !== null && u !== undefined && v !== null && v !== undefined;
    if (known) {
      const [x, y] = place(u, v);
      path += `${down ? "L" : "M"}${x.toFixed(1)},${y.toFixed(1)}`;
    }
    down = known;
  }
  return path;
}

function tableOf(
  command: OverPhase,
  paths: readonly { readonly name: string; readonly error: OverPhase }[],
): Drawing["table"] {
  const bins = command.x.length;
  const cell = (value: number | null | undefined): number | null =>
    value === null || value === undefined ? null : tableMillimetres(value);
  return {
    columns: [
      "phase, degrees",
      ...axes.map((axis) => `commanded ${axis}, mm`),
      ...paths.flatMap(({ name }) => axes.map((axis) => `${name}, error ${axis}, mm`)),
    ],
    rows: command.x.map((_, bin) => [
      Number(((360 * (bin + 0.5)) / bins).toFixed(1)),
      ...axes.map((axis) => cell(command[axis][bin])),
      ...paths.flatMap(({ error }) => axes.map((axis) => cell(error[axis][bin]))),
    ]),
  };
}
