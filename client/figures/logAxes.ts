import { type ScaleLogarithmic, scaleLog } from "d3";
import { fixed } from "../app/words.ts";
import { type Group, group } from "./axes.ts";
import { labelPlace } from "./plainAxis.ts";

export type LogScale = ScaleLogarithmic<number, number>;

/** A logarithmic scale around values above 0, with a little room; null where there is none. */
export function logScale(values: Iterable<number>, range: readonly [number, number], room = 1.15): LogScale | null {
  let [low, high] = [Number.POSITIVE_INFINITY, 0];
  for (const value of values) {
    if (!(value > 0)) continue;
    low = Math.min(low, value);
    high = Math.max(high, value);
  }
  if (high === 0) return null;
  return scaleLog()
    .domain([low / room, high * room])
    .range([...range]);
}

/** A logarithmic scale between two edges; what lies beyond is drawn at them. */
export function edgedScale(edges: readonly [number, number], width: number): LogScale {
  return scaleLog()
    .domain([...edges])
    .range([0, width])
    .clamp(true);
}

/**
 * Round values of a logarithmic axis: 1, 2 and 5 of every decade; of many decades 1 alone, of a part of one every digit.
 *
 * @example logTicks([0.18, 6]) // => [0.2, 0.5, 1, 2, 5]
 */
export function logTicks([low, high]: readonly [number, number]): number[] {
  const decades = Math.log10(high / low);
  const steps = decades > 3 ? [1] : decades > 1.6 ? [1, 3] : decades > 0.6 ? [1, 2, 5] : [1, 2, 3, 4, 5, 6, 7, 8, 9];
  const ticks: number[] = [];
  for (let decade = Math.floor(Math.log10(low)); decade <= Math.ceil(Math.log10(high)); decade++) {
    for (const step of steps) {
      // 10 ** -1 * 3 is 0.30000000000000004
      const value = Number((step * 10 ** decade).toPrecision(6));
      if (value >= low * (1 - 1e-9) && value <= high * (1 + 1e-9)) ticks.push(value);
    }
  }
  return ticks;
}

/** A number of an axis: plain from a thousandth to ten thousand, else as a power of ten. */
export function tickText(value: number): string {
  if (value >= 1e-3 && value < 1e4) return fixed(value, Math.max(0, -Math.floor(Math.log10(value) + 1e-9)));
  const exponent = Math.floor(Math.log10(value) + 1e-9);
  const mantissa = Number((value / 10 ** exponent).toPrecision(3));
  const power = `10${[...String(exponent)].map((digit) => superscripts[digit]).join("")}`;
  return mantissa === 1 ? power : `${mantissa}·${power}`;
}

const superscripts: Readonly<Record<string, string>> = Object.fromEntries(
  [..."-0123456789"].map((digit, k) => [digit, [..."⁻⁰¹²³⁴⁵⁶⁷⁸⁹"][k]!]),
);

export interface LogAxisLook {
  /** what a drawn number is per unit of the scale's domain */
  readonly per?: number;
  readonly label?: string;
  /** length of light lines across the panel */
  readonly lines: number;
  readonly silent?: boolean;
}

/** A logarithmic scale along the bottom of a panel. */
export function logBottomAxis(parent: Group, scale: LogScale, { per = 1, label, lines, silent }: LogAxisLook): void {
  const axis = group(parent, 0, 0, "axis");
  const [a, b] = scale.range() as [number, number];
  let free = Number.NEGATIVE_INFINITY;
  for (const { at, text } of placed(scale, per)) {
    axis.append("line").attr("class", "grid").attr("x1", at).attr("x2", at).attr("y2", -lines);
    axis.append("line").attr("class", "tick").attr("x1", at).attr("x2", at).attr("y2", 4);
    // numbers that would touch are left out: the ticks count on
    if (silent || at < free) continue;
    free = at + 7 * text.length + 8;
    axis.append("text").attr("class", "number").attr("x", at).attr("y", 17).attr("text-anchor", "middle").text(text);
  }
  axis.append("line").attr("class", "spine").attr("x1", a).attr("x2", b);
  if (label) {
    const { x, anchor } = labelPlace(a, b, label);
    axis.append("text").attr("class", "label").attr("x", x).attr("y", 34).attr("text-anchor", anchor).text(label);
  }
}

/** A logarithmic scale along the left of a panel, its label above it. */
export function logLeftAxis(parent: Group, scale: LogScale, { per = 1, label, lines, silent }: LogAxisLook): void {
  const axis = group(parent, 0, 0, "axis");
  const [a, b] = scale.range() as [number, number];
  for (const { at, text } of placed(scale, per)) {
    axis.append("line").attr("class", "grid").attr("y1", at).attr("y2", at).attr("x2", lines);
    axis.append("line").attr("class", "tick").attr("y1", at).attr("y2", at).attr("x2", -4);
    if (!silent) {
      const number = axis.append("text").attr("class", "number").attr("x", -8).attr("y", at).attr("dy", "0.34em");
      number.attr("text-anchor", "end").text(text);
    }
  }
  axis.append("line").attr("class", "spine").attr("y1", a).attr("y2", b);
  if (label) {
    const above = Math.min(a, b) - 9;
    axis.append("text").attr("class", "label").attr("x", -8).attr("y", above).attr("text-anchor", "start").text(label);
  }
}

function placed(scale: LogScale, per: number): { at: number; text: string }[] {
  const [low, high] = scale.domain() as [number, number];
  return logTicks([low * per, high * per]).map((value) => ({ at: scale(value / per), text: tickText(value) }));
}
