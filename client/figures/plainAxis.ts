import { type ScaleLinear, scaleLinear } from "d3";
import type { SplitFigures } from "../../src/contract/evaluation.ts";
import { fixed } from "../app/words.ts";
import { roundTicks } from "./boardScale.ts";
import { decimalsOf } from "./cellSketch.ts";
import type { Covariance } from "./confidenceEllipse.ts";
import { svg } from "./svg.ts";

interface AxisText {
  /** position of a value, pixels */
  readonly scale: (value: number) => number;
  readonly domain: readonly [number, number];
  /** where the axis lies, and the far end of its grid lines; pixels */
  readonly at: number;
  readonly grid: number;
  readonly label: string;
  readonly most?: number;
  /** value as it is written; default: as many decimals as tell the ticks apart */
  readonly words?: (value: number) => string;
  readonly ticks?: readonly number[];
  /** of a vertical axis: from its end to its label, pixels */
  readonly gap?: number;
}

/** A horizontal axis with light grid lines and its label under its middle. */
export function bottomAxis({ scale, domain, at, grid, label, most = 8, words, ticks }: AxisText): SVGElement {
  const [from, to] = [scale(domain[0]), scale(domain[1])];
  const marks = ticks ?? roundTicks(domain, Math.max(2, Math.min(most, (to - from) / 46)));
  const decimals = decimalsOf(marks);
  const name = labelPlace(from, to, label);
  return svg("g", {}, [
    ...marks.map((tick) =>
      svg("g", { class: "tick" }, [
        svg("line", { class: "grid", x1: scale(tick), x2: scale(tick), y1: grid, y2: at }),
        svg("line", { x1: scale(tick), x2: scale(tick), y1: at, y2: at + 4 }),
        svg("text", {
          x: scale(tick),
          y: at + 16,
          "text-anchor": "middle",
          text: words?.(tick) ?? fixed(tick, decimals),
        }),
      ]),
    ),
    svg("line", { class: "axis-line", x1: from, x2: to, y1: at, y2: at }),
    svg("text", {
      class: "quiet-text halo",
      x: name.x,
      y: at + 31,
      "text-anchor": name.anchor,
      text: label,
    }),
  ]);
}

/** Where an axis's label stands: under its middle, and from its end to the left where it is longer than the axis. */
export function labelPlace(a: number, b: number, label: string): { x: number; anchor: "middle" | "end" } {
  return 6.6 * label.length > b - a ? { x: b, anchor: "end" } : { x: (a + b) / 2, anchor: "middle" };
}

/** A vertical axis with light grid lines and its label above its end. */
export function leftAxis({ scale, domain, at, grid, label, most = 5, words, ticks, gap = 8 }: AxisText): SVGElement {
  const marks = ticks ?? roundTicks(domain, most);
  const decimals = decimalsOf(marks);
  return svg("g", {}, [
    ...marks.map((tick) =>
      svg("g", { class: "tick" }, [
        svg("line", { class: "grid", x1: at, x2: grid, y1: scale(tick), y2: scale(tick) }),
        svg("text", {
          x: at - 6,
          y: scale(tick) + 4,
          "text-anchor": "end",
          text: words?.(tick) ?? fixed(tick, decimals),
        }),
      ]),
    ),
    svg("line", { class: "axis-line", x1: at, x2: at, y1: scale(domain[0]), y2: scale(domain[1]) }),
    svg("text", { class: "quiet-text", x: at, y: scale(domain[1]) - gap, text: label }),
  ]);
}

/** A domain around values, with room at its ends; never without width, 0 to 1 where there are none. */
export function domainAround(values: readonly number[], room = 0.05): [number, number] {
  if (values.length === 0) return [0, 1];
  const least = Math.min(...values);
  const most = Math.max(...values);
  const margin = least === most ? Math.max(1, Math.abs(least) * 0.1) : room * (most - least);
  return [least - margin, most + margin];
}

type Harmonic = SplitFigures["harmonics"][number];

/** A harmonic a cos(k theta + phi) as it is drawn: length a, anticlockwise angle phi; metres. */
export interface Phasor {
  readonly k: number;
  readonly vector: readonly [number, number];
  readonly covariance: Covariance | null;
}

/** a cos(k theta + phi) = a cos phi cos k theta - a sin phi sin k theta: the sine coefficient turns its sign. */
export function phasorOf({ k, cos, sin, cov }: Harmonic): Phasor {
  return { k, vector: [cos, -sin], covariance: cov === null ? null : [cov[0], -cov[1], cov[2]] };
}

export interface Extent2 {
  readonly across: readonly [number, number];
  readonly up: readonly [number, number];
}

/**
 * How many pixels a metre may have so that all of these stretches fit into panels of one size: one figure for both
 * directions and for all panels, so that a circle stays a circle and panels compare.
 *
 * @param least  metres that a panel shows at least, for paths that hardly move
 */
export function pixelsPerMetre(
  extents: readonly Extent2[],
  { width, height, least }: { width: number; height: number; least: number },
): number {
  const spans = extents.map(({ across, up }) => ({ across: across[1] - across[0], up: up[1] - up[0] }));
  const margin = 1.12;
  const widest = margin * Math.max(least, ...spans.map(({ across }) => across));
  const tallest = margin * Math.max(least, ...spans.map(({ up }) => up));
  return Math.min(width / widest, height / tallest);
}

/** Two scales of a panel with equal pixels per metre, the stretch shown in its middle; up grows upwards. */
export function equalScales(
  { across, up }: Extent2,
  { width, height, perMetre }: { width: number; height: number; perMetre: number },
): { readonly x: ScaleLinear<number, number>; readonly y: ScaleLinear<number, number> } {
  const around = (extent: readonly [number, number], size: number): [number, number] => {
    const middle = (extent[0] + extent[1]) / 2;
    return [middle - size / perMetre / 2, middle + size / perMetre / 2];
  };
  return {
    x: scaleLinear().domain(around(across, width)).range([0, width]),
    y: scaleLinear().domain(around(up, height)).range([height, 0]),
  };
}
