import { create, type ScaleLinear, type Selection } from "d3";
import { fixed } from "../app/words.ts";
import type { Tone } from "./Figure.ts";
import { labelPlace } from "./plainAxis.ts";

/** A group or drawing to append to; d3's own parameters narrowed to what the figures use. */
export type Svg = Selection<SVGSVGElement, undefined, null, undefined>;
export type Group = Selection<SVGGElement, undefined, null, undefined>;
export type Scale = ScaleLinear<number, number>;

let drawings = 0;

/** A name for a clip path or pattern that no other drawing of the page has. */
export const drawingId = (name: string): string => `${name}-${++drawings}`;

/** An empty drawing that fills the width it is given and reads as one picture to a screen reader. */
export function blankDrawing(width: number, height: number, label: string): Svg {
  return create("svg")
    .attr("xmlns", "http://www.w3.org/2000/svg")
    .attr("class", "drawing")
    .attr("viewBox", `0 0 ${width} ${height}`)
    .attr("width", width)
    .attr("height", height)
    .attr("role", "img")
    .attr("aria-label", label) as Svg;
}

/** Of runs of one configuration, in its colour. */
export function runDrawing(height: number, look: { width: number; label: string; tone: Tone }): Svg {
  return blankDrawing(look.width, height, look.label).classed(`run-drawing tone-${look.tone}`, true);
}

export function group(parent: Svg | Group, x: number, y: number, name = ""): Group {
  return parent.append("g").attr("class", name).attr("transform", `translate(${x},${y})`) as unknown as Group;
}

/** Text of the ticks: no more decimals than their spacing needs, and a true minus. */
export function tickTexts(values: readonly number[]): string[] {
  const step = values.length > 1 ? Math.abs(values[1]! - values[0]!) : 1;
  const decimals = Math.max(0, Math.min(6, Math.ceil(-Math.log10(step) - 1e-9)));
  return values.map((value) => fixed(value, decimals));
}

/** A stretch of error with room above and below, zero always in sight; metres. */
export function padded(low: number, high: number): [number, number] {
  const [a, b] = [Math.min(0, low), Math.max(0, high)];
  const room = 0.06 * (b - a) || 1e-3;
  return [a - room, b + room];
}

export interface AxisLook {
  /** what a drawn number is per unit of the scale's domain: 1e3 draws metres as millimetres */
  readonly per?: number;
  readonly ticks?: number;
  /** where the ticks stand, in drawn numbers; left out: round ones */
  readonly values?: readonly number[];
  readonly label?: string;
  /** length of light lines across the panel; 0 or left out: none */
  readonly lines?: number;
  /** leaves the numbers out, as between stacked panels */
  readonly silent?: boolean;
}

function ticksOf(scale: Scale, { per = 1, ticks = 5, values: own }: AxisLook): { at: number; text: string }[] {
  const [from, to] = scale.domain() as [number, number];
  const values =
    own ??
    scale
      .copy()
      .domain([from * per, to * per])
      .ticks(ticks);
  const texts = tickTexts(values);
  return values.map((value, k) => ({ at: scale(value / per), text: texts[k]! }));
}

/** A scale along the bottom of a panel: hairline, ticks, numbers, label under its middle. */
export function bottomAxis(parent: Group, scale: Scale, look: AxisLook = {}): Group {
  const axis = group(parent, 0, 0, "axis");
  const [a, b] = scale.range() as [number, number];
  const ticks = Math.max(2, Math.min(look.ticks ?? 5, Math.abs(b - a) / 44));
  for (const { at, text } of ticksOf(scale, { ...look, ticks })) {
    if (look.lines) axis.append("line").attr("class", "grid").attr("x1", at).attr("x2", at).attr("y2", -look.lines);
    axis.append("line").attr("class", "tick").attr("x1", at).attr("x2", at).attr("y2", 4);
    if (!look.silent) {
      axis.append("text").attr("class", "number").attr("x", at).attr("y", 17).attr("text-anchor", "middle").text(text);
    }
  }
  axis.append("line").attr("class", "spine").attr("x1", a).attr("x2", b);
  if (look.label) {
    const { x, anchor } = labelPlace(a, b, look.label);
    axis.append("text").attr("class", "label").attr("x", x).attr("y", 34).attr("text-anchor", anchor).text(look.label);
  }
  return axis;
}

/** A scale along the left of a panel; its label stands level above the top tick, so that nobody tilts the head. */
export function leftAxis(parent: Group, scale: Scale, look: AxisLook = {}): Group {
  const axis = group(parent, 0, 0, "axis");
  const [a, b] = scale.range() as [number, number];
  for (const { at, text } of ticksOf(scale, look)) {
    if (look.lines) axis.append("line").attr("class", "grid").attr("y1", at).attr("y2", at).attr("x2", look.lines);
    axis.append("line").attr("class", "tick").attr("y1", at).attr("y2", at).attr("x2", -4);
    if (!look.silent) {
      axis
        .append("text")
        .attr("class", "number")
        .attr("x", -8)
        .attr("y", at)
        .attr("dy", "0.34em")
        .attr("text-anchor", "end")
        .text(text);
    }
  }
  axis.append("line").attr("class", "spine").attr("y1", a).attr("y2", b);
  if (look.label) {
    axis
      .append("text")
      .attr("class", "label")
      .attr("x", -8)
      .attr("y", Math.min(a, b) - 9)
      .attr("text-anchor", "start")
      .text(look.label);
  }
  return axis;
}

/** Rows of a drawing and the names of what they are of: left of the panel, and above each row where that leaves too little. */
export interface Rows {
  readonly left: number;
  /** of the panel, and of all rows */
  readonly width: number;
  readonly height: number;
  readonly middle: (row: number) => number;
  readonly name: (panel: Group, row: number, text: string) => void;
}

/** @param width  of the drawing, pixels; `names` of the longest name beside, `step` from row to row */
export function rowsIn(count: number, width: number, { names, step }: { names: number; step: number }): Rows {
  const above = width < names + 420;
  const left = above ? 8 : names;
  const each = above ? step + 16 : step;
  const middle = (row: number): number => row * each + (above ? 16 : 0) + step / 2;
  return {
    left,
    width: width - left - 24,
    height: Math.max(1, count) * each,
    middle,
    name: (panel, row, text) => {
      const words = panel.append("text").attr("class", "value halo").attr("dy", "0.34em").text(text);
      if (above) words.attr("x", 4).attr("y", middle(row) - step / 2 - 4);
      else words.attr("x", -14).attr("y", middle(row)).attr("text-anchor", "end");
    },
  };
}
