import { scaleLinear } from "d3";
import { fixed } from "../app/words.ts";
import { blankDrawing, bottomAxis, drawingId, type Group, group, leftAxis, padded, type Scale } from "./axes.ts";
import type { Drawing, Tone } from "./Figure.ts";
import type { PhaseCurve } from "./meanOverRuns.ts";

/** What is drawn of one configuration, or of one run. */
export interface ComparedCurve {
  readonly name: string;
  readonly tone: Tone;
  readonly curve: PhaseCurve;
}

export interface ComparisonOptions {
  readonly width: number;
  readonly label: string;
  /** such as "y error" */
  readonly axis: string;
  readonly names: { readonly difference: string };
}

const [left, right] = [62, 14];
/** of a line of the legend, and what is above the first panel besides */
const [legendLine, head] = [18, 36];
const heights = [210, 150] as const;
const between = 40;

/**
 * Error over cycle phase of what is compared, above, and the difference with its band and zero below, on one scale of phase; the
 * scale of the error is the same in both panels, so that a difference can be held against the error that it is of.
 */
export function comparisonFigure(
  compared: readonly ComparedCurve[],
  difference: PhaseCurve,
  phase: readonly number[],
  options: ComparisonOptions,
): Drawing {
  const inner = options.width - left - right;
  const rows = legendRows(compared, inner);
  const top = head + legendLine * rows.length;
  const x = scaleLinear().domain([0, 360]).range([0, inner]);
  const degrees = phase.map((value) => (value * 180) / Math.PI);
  const svg = blankDrawing(options.width, top + heights[0] + between + heights[1] + 44, options.label);
  svg.classed("run-drawing compared", true);
  const above = scaleOf(
    compared.map(({ curve }) => curve),
    heights[0],
  );
  const below = scaleOf([difference], heights[1]);
  for (const [k, row] of rows.entries()) legend(group(svg, left, 14 + k * legendLine), row);
  const panels = [
    { y: above, at: top, height: heights[0], label: `${options.axis}, mm`, curves: compared },
    {
      y: below,
      at: top + heights[0] + between,
      height: heights[1],
      label: `${options.names.difference}, mm`,
      curves: [{ name: "difference", tone: "other" as const, curve: difference }],
    },
  ];
  for (const [k, { y, at, height, label, curves }] of panels.entries()) {
    const panel = group(svg, left, at);
    leftAxis(panel, y, { per: 1e3, ticks: height / 40, lines: inner, label });
    bottomAxis(group(panel, 0, height), x, {
      values: [0, 90, 180, 270, 360],
      ...(k === 0 ? { silent: true } : { label: "cycle phase, degrees" }),
    });
    panel.append("line").attr("class", "zero").attr("x2", inner).attr("y1", y(0)).attr("y2", y(0));
    const clip = drawingId("compared");
    panel.append("clipPath").attr("id", clip).append("rect").attr("width", inner).attr("height", height);
    const inside = panel.append("g").attr("clip-path", `url(#${clip})`) as unknown as Group;
    for (const { tone, curve } of curves) {
      const own = inside.append("g").attr("class", `compared-${tone}`);
      own
        .append("path")
        .attr("class", "compared-band")
        .attr("d", bandOf(degrees, curve, x, y));
      own
        .append("path")
        .attr("class", "compared-mean")
        .attr("d", lineOf(degrees, curve.mean, x, y));
    }
  }
  return { svg: svg.node()!, table: tableOf(degrees, compared, difference) };
}

function scaleOf(curves: readonly PhaseCurve[], height: number): Scale {
  const values = curves.flatMap(({ mean, low, high }) => [...mean, ...low, ...high]).filter((value) => value !== null);
  const ends: [number, number] = values.length === 0 ? [-1e-3, 1e-3] : [Math.min(...values), Math.max(...values)];
  return scaleLinear()
    .domain(padded(...ends))
    .range([height, 0]);
}

function lineOf(degrees: readonly number[], values: readonly (number | null)[], x: Scale, y: Scale): string {
  let path = "";
  let isDown = false;
  for (const [k, value] of values.entries()) {
    if (value !== null) path += `${isDown ? "L" : "M"}${x(degrees[k]!).toFixed(1)},${y(value).toFixed(1)}`;
    isDown = value !== null;
  }
  return path;
}

/** One closed part for each stretch of phases that has a band. */
function bandOf(degrees: readonly number[], { low, high }: PhaseCurve, x: Scale, y: Scale): string {
  const parts: number[][] = [];
  for (const [k, value] of low.entries()) {
    if (value === null) continue;
    if (parts.at(-1)?.at(-1) === k - 1) parts.at(-1)!.push(k);
    else parts.push([k]);
  }
  const at = (k: number, value: number): string => `${x(degrees[k]!).toFixed(1)},${y(value).toFixed(1)}`;
  return parts
    .map(
      (part) => `M${[...part.map((k) => at(k, high[k]!)), ...part.toReversed().map((k) => at(k, low[k]!))].join("L")}Z`,
    )
    .join("");
}

/** a little more than its line and letters take */
type Named = Pick<ComparedCurve, "name" | "tone">;
const entryWidth = ({ name }: Named): number => 56 + 7.5 * name.length;

/** All in one line where they fit, else one below the other. */
export function legendRows(compared: readonly Named[], width: number): (readonly Named[])[] {
  const together = compared.reduce((sum, entry) => sum + entryWidth(entry), 0);
  return together <= width ? [compared] : compared.map((entry) => [entry]);
}

/** The lines of what is compared, each with its name. */
export function legend(own: Group, row: readonly Named[]): void {
  let at = 0;
  for (const one of row) {
    const entry = own.append("g").attr("class", `compared-${one.tone}`);
    entry
      .append("line")
      .attr("class", "compared-mean")
      .attr("x1", at)
      .attr("x2", at + 26)
      .attr("y1", -4)
      .attr("y2", -4);
    entry
      .append("text")
      .attr("class", "label")
      .attr("x", at + 32)
      .text(one.name);
    at += entryWidth(one);
  }
}

function tableOf(
  degrees: readonly number[],
  compared: readonly ComparedCurve[],
  difference: PhaseCurve,
): Drawing["table"] {
  const all = [...compared, { name: "difference", curve: difference }];
  const cell = (value: number | null | undefined): string | null =>
    value === null || value === undefined ? null : fixed(value * 1e3, 3);
  return {
    columns: ["phase, degrees", ...all.flatMap(({ name }) => [`${name}, mm`, `${name} from, mm`, `${name} to, mm`])],
    rows: degrees.map((phase, k) => [
      Number(phase.toFixed(1)),
      ...all.flatMap(({ curve }) => [curve.mean[k], curve.low[k], curve.high[k]].map(cell)),
    ]),
  };
}
