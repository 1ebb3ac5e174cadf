import { scaleLinear } from "d3";
import type { Scale } from "./axes.ts";

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
): { readonly x: Scale; readonly y: Scale } {
  const around = (extent: readonly [number, number], size: number): [number, number] => {
    const middle = (extent[0] + extent[1]) / 2;
    return [middle - size / perMetre / 2, middle + size / perMetre / 2];
  };
  return {
    x: scaleLinear().domain(around(across, width)).range([0, width]),
    y: scaleLinear().domain(around(up, height)).range([height, 0]),
  };
}
