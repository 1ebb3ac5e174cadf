import { scaleLinear } from "d3";
import type { SeriesAnswer } from "../../src/contract/api/runAnswers.ts";
import { type Axis, axes } from "../../src/foundation/tracks.ts";
import { type AxisNames, axisLabel } from "../../src/words/places.ts";
import {
  bottomAxis,
  drawingId,
  type Group,
  group,
  leftAxis,
  padded,
  runDrawing,
  type Scale,
  type Svg,
} from "./axes.ts";
import { bandExtent, bandPaths, gapsOf } from "./bandPath.ts";
import type { Drawing, Tone } from "./Figure.ts";
import { tableMillimetres } from "./uncertainMillimetres.ts";

type Span = readonly [number, number];

export interface TimeSeriesOptions {
  /** pixels */
  readonly width: number;
  readonly tone: Tone;
  readonly hold: Span | null;
  readonly cycles: readonly Span[];
  /** sd of the measurement noise per axis, metres */
  readonly noise: Readonly<Record<Axis, number | null>> | null;
  /** sample intervals that are no gap yet */
  readonly gapIntervals: number;
  readonly label: string;
  readonly names: AxisNames;
}

/** A drawing of error over time, with what a pointer needs to read it and to mark a window on it. */
export interface TimeDrawing extends Drawing {
  readonly x: Scale;
  readonly y: Scale;
  /** of the stacked panels, pixels of the drawing */
  readonly area: { readonly left: number; readonly top: number; readonly width: number; readonly height: number };
  /** top of each panel within the area, and the height of one */
  readonly panels: readonly number[];
  readonly panelHeight: number;
  readonly gaps: readonly Span[];
  /** empty, above the curves: for the marked window and the readout; left out of downloads */
  readonly overlay: Group;
}

const left = 62;
const right = 14;
const laneHeight = 18;
const top = 54;
const panelHeight = 116;
const panelStep = panelHeight + 30;

/**
 * Error over time, one panel per axis over one time axis and with one error scale: per column the lowest and highest
 * error as served. Gaps stay empty and are hatched; hold and cycles are marked in a lane above; the measurement noise is
 * a dashed pair of lines.
 */
export function timeSeriesFigure(series: SeriesAnswer, options: TimeSeriesOptions): TimeDrawing {
  const { width } = options;
  const inner = width - left - right;
  const stack = panelStep * 2 + panelHeight;
  const svg = runDrawing(top + stack + 42, options);
  const x = scaleLinear().domain(series.window).range([0, inner]);
  const extent = bandExtent(series.stretches, axes) ?? [-1e-3, 1e-3];
  const y = scaleLinear()
    .domain(padded(...extent))
    .range([panelHeight, 0]);
  const clip = drawingId("panel");
  svg.append("clipPath").attr("id", clip).append("rect").attr("width", inner).attr("height", panelHeight);
  const gaps = gapsOf(series, options.gapIntervals);
  drawLane(group(svg, left, 8), x, options, gaps);
  const pattern = hatching(svg);
  const panels = axes.map((_, k) => k * panelStep);
  axes.forEach((axis, k) => {
    const panel = group(svg, left, top + panels[k]!);
    drawGaps(panel, x, gaps, pattern);
    drawWindows(panel, x, options);
    drawNoise(panel, y, options.noise?.[axis] ?? null, inner);
    leftAxis(panel, y, { per: 1e3, ticks: 4, lines: inner, label: `${axisLabel(axis, options.names)} error, mm` });
    panel.append("line").attr("class", "zero").attr("x2", inner).attr("y1", y(0)).attr("y2", y(0));
    const { bands, lines } = bandPaths(series.stretches, axis, x, y);
    const curves = panel.append("g").attr("clip-path", `url(#${clip})`);
    curves.append("path").attr("class", "band-curve").attr("d", bands);
    curves.append("path").attr("class", "curve").attr("d", lines);
    const foot = group(panel, 0, panelHeight);
    bottomAxis(foot, x, {
      ticks: 10,
      silent: k < 2,
      ...(k < 2 ? {} : { label: "time since the run's epoch, s" }),
    });
  });
  const overlay = group(svg, left, top, "overlay").attr("data-export", "no");
  return {
    svg: svg.node()!,
    get table() {
      return tableOf(series);
    },
    x,
    y,
    panels,
    panelHeight,
    gaps,
    area: { left, top, width: inner, height: stack },
    overlay,
  };
}

/** Where windows lie, above the panels: one bar for the hold, one box per cycle, numbered where there is room. */
function drawLane(lane: Group, x: Scale, { hold, cycles }: TimeSeriesOptions, gaps: readonly Span[]): void {
  const [from, to] = x.domain() as [number, number];
  const seen = ([a, b]: Span): [number, number] | null =>
    b <= from || a >= to ? null : [x(Math.max(a, from)), x(Math.min(b, to))];
  const box = (span: Span, name: string, text: string): void => {
    const ends = seen(span);
    if (ends === null) return;
    const [a, b] = ends;
    lane
      .append("rect")
      .attr("class", name)
      .attr("x", a)
      .attr("width", Math.max(1, b - a))
      .attr("height", laneHeight);
    if (b - a < 8 + 6.4 * text.length) return;
    lane
      .append("text")
      .attr("class", "number")
      .attr("x", (a + b) / 2)
      .attr("y", laneHeight - 5)
      .attr("text-anchor", "middle")
      .text(text);
  };
  if (hold !== null) box(hold, "lane-hold", "hold window");
  const first = cycles[0];
  const last = cycles[cycles.length - 1];
  if (first !== undefined && last !== undefined) {
    const single = x(first[1]) - x(first[0]);
    if (single >= 22)
      for (const [k, cycle] of cycles.entries()) box(cycle, `lane-cycle ${k % 2 ? "odd" : ""}`, `${k + 1}`);
    else box([first[0], last[1]], "lane-cycle", `cycles 1 to ${cycles.length}`);
  }
  let marks = "";
  for (const [a, b] of gaps) {
    const middle = x((a + b) / 2);
    marks += `M${middle - 4.5},${laneHeight + 4}h9l-4.5,8Z`;
  }
  if (marks !== "") lane.append("path").attr("class", "gap-mark").attr("d", marks);
}

/** The hatching of gaps. */
function hatching(svg: Svg): string {
  const id = drawingId("hatch");
  const pattern = svg
    .append("pattern")
    .attr("id", id)
    .attr("patternUnits", "userSpaceOnUse")
    .attr("width", 5)
    .attr("height", 5)
    .attr("patternTransform", "rotate(45)");
  pattern.append("line").attr("class", "hatch").attr("y2", 5);
  return id;
}

function drawGaps(panel: Group, x: Scale, gaps: readonly Span[], pattern: string): void {
  let boxes = "";
  for (const [a, b] of gaps) {
    const wide = Math.max(2, x(b) - x(a));
    const from = x((a + b) / 2) - wide / 2;
    boxes += `M${from.toFixed(2)},0h${wide.toFixed(2)}v${panelHeight}h${(-wide).toFixed(2)}Z`;
  }
  if (boxes !== "") panel.append("path").attr("class", "gap-box").attr("fill", `url(#${pattern})`).attr("d", boxes);
}

function drawWindows(panel: Group, x: Scale, { hold, cycles }: TimeSeriesOptions): void {
  const [from, to] = x.domain() as [number, number];
  const edges = new Set<number>();
  const first = cycles[0];
  const last = cycles[cycles.length - 1];
  if (first !== undefined && last !== undefined) {
    edges.add(first[0]).add(last[1]);
    if (x(first[1]) - x(first[0]) >= 12) for (const [start] of cycles) edges.add(start);
  }
  let lines = "";
  for (const edge of edges) if (edge > from && edge < to) lines += `M${x(edge).toFixed(2)},0v${panelHeight}`;
  if (hold !== null && hold[1] > from && hold[0] < to) {
    const [a, b] = [x(Math.max(from, hold[0])), x(Math.min(to, hold[1]))];
    panel
      .append("rect")
      .attr("class", "hold-box")
      .attr("x", a)
      .attr("width", b - a)
      .attr("height", panelHeight);
  }
  panel.append("path").attr("class", "cycle-edge").attr("d", lines);
}

function drawNoise(panel: Group, y: Scale, sd: number | null, wide: number): void {
  if (sd === null) return;
  const [a, b] = [y(sd), y(-sd)];
  panel
    .append("rect")
    .attr("class", "noise-box")
    .attr("y", a)
    .attr("width", wide)
    .attr("height", b - a);
  panel.append("path").attr("class", "noise-line").attr("d", `M0,${a}h${wide}M0,${b}h${wide}`);
}

function tableOf({ stretches }: SeriesAnswer): Drawing["table"] {
  return {
    columns: ["stretch", "from, s", "to, s", ...axes.flatMap((axis) => [`${axis} lowest, mm`, `${axis} highest, mm`])],
    rows: stretches.flatMap((stretch, s) =>
      stretch.start.map((start, k) => [
        s + 1,
        Number(start.toFixed(6)),
        Number(stretch.end[k]!.toFixed(6)),
        ...axes.flatMap((axis) => [tableMillimetres(stretch[axis].low[k]!), tableMillimetres(stretch[axis].high[k]!)]),
      ]),
    ),
  };
}
