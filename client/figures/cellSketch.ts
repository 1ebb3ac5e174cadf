import { scaleLinear } from "d3";
import type { Cell } from "../../src/contract/cell.ts";
import { inShown } from "../../src/words/amounts.ts";
import { fixed } from "../app/words.ts";
import { type BoardScale, roundTicks, runDistances } from "./boardScale.ts";
import { runSign } from "./runLine.ts";
import { svg } from "./svg.ts";

export const sketchSize = { width: 320, height: 92 } as const;

const left = 6;
const top = 3;
const rows = { baseline: 16, candidate: 38, difference: 58 } as const;
const foot = 69;
const dot = 3.6;

/**
 * The small drawing of a board's cell. Everything is a distance from the baseline's mean in the board's unit: the
 * runs of both configurations, and under them the difference with its 95 % interval (thin) and 90 % interval (thick: that one
 * decides whether a difference matters) against 0 and the smallest difference.
 *
 * @param width  pixels; type keeps its size
 */
export function cellSketch(
  cell: Cell,
  { domain, ticks: most }: BoardScale,
  width: number = sketchSize.width,
): SVGSVGElement {
  const x = scaleLinear(domain, [left, width - left]);
  // narrow: fewer ticks, zero among them
  const ticks = width < 200 ? roundTicks(domain, 3) : most;
  const height = { y1: top, y2: foot };
  return svg("svg", { class: "drawing sketch", viewBox: `0 0 ${width} ${sketchSize.height}`, "aria-hidden": "true" }, [
    band(cell, x),
    svg("line", { class: "axis-line", x1: left, x2: width - left, y1: foot, y2: foot }),
    ...ticks.map((tick) =>
      svg("g", { class: "tick" }, [
        svg("line", { x1: x(tick), x2: x(tick), y1: foot, y2: foot + 4 }),
        svg("text", { x: x(tick), y: foot + 16, "text-anchor": "middle", text: fixed(tick, decimalsOf(ticks)) }),
      ]),
    ),
    svg("line", { class: "zero", x1: x(0), x2: x(0), ...height }),
    ...runs(cell, x),
    ...difference(cell, x),
  ]);
}

/** of a distance in the unit read */
type X = (shown: number) => number;

function band({ smallest_difference: smallest, unit }: Cell, x: X): SVGElement | null {
  if (smallest === null) return null;
  const half = inShown(smallest, unit);
  return svg("rect", { class: "band", x: x(-half), width: x(half) - x(-half), y: top, height: foot - top });
}

function runs(cell: Cell, x: X): SVGElement[] {
  const all = runDistances(cell);
  return (["baseline", "candidate"] as const).flatMap((role) => {
    const own = all.filter((run) => run.role === role);
    const at = own.map(({ distance }) => x(inShown(distance, cell.unit)));
    const offsets = swarm(at, 2 * dot, 2 * dot);
    return own.map(({ run }, k) => runSign(role, at[k]!, rows[role] + offsets[k]!, dot, { title: run, run }));
  });
}

function difference({ difference, ci95, ci90, unit }: Cell, distanceAt: X): SVGElement[] {
  if (difference === null) return [];
  const x = (value: number): number => distanceAt(inShown(value, unit));
  const y = rows.difference;
  const at = x(difference);
  const ends = ci95?.map(x) ?? null;
  return [
    ...(ends === null
      ? []
      : [
          svg("path", {
            class: "interval",
            d: `M${ends[0]},${y - 4}v8M${ends[0]},${y}H${ends[1]}M${ends[1]},${y - 4}v8`,
          }),
        ]),
    ...(ci90 === null ? [] : [svg("path", { class: "interval inner", d: `M${x(ci90[0])},${y}H${x(ci90[1])}` })]),
    svg("rect", { class: "estimate", x: at - 3, y: y - 6, width: 6, height: 12 }),
  ];
}

/** Decimals that tell all ticks apart. */
export function decimalsOf(ticks: readonly number[]): number {
  const decimals = ticks.map((tick) => (String(tick).split(".")[1] ?? "").length);
  return Math.min(4, Math.max(0, ...decimals));
}

/**
 * Offsets that keep points on a line from hiding each other: each takes the smallest offset at which it touches none placed
 * before it. Where there is no room within `most`, it overlaps.
 *
 * @param at    positions along the line, pixels
 * @param size  least distance of two points, pixels
 * @param most  furthest offset across the line, pixels
 * @returns offsets across the line, in the order of `at`
 */
export function swarm(at: readonly number[], size: number, most: number): number[] {
  const placed: { x: number; y: number }[] = [];
  const offsets = new Array<number>(at.length).fill(0);
  const order = [...at.keys()].sort((a, b) => at[a]! - at[b]!);
  const steps = [0];
  for (let step = size / 3; step <= most; step += size / 3) steps.push(step, -step);
  for (const k of order) {
    const x = at[k]!;
    const y = steps.find((step) => placed.every((other) => Math.hypot(other.x - x, other.y - step) >= size)) ?? 0;
    offsets[k] = y;
    placed.push({ x, y });
  }
  return offsets;
}
