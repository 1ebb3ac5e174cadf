import { scaleLinear, scaleLog } from "d3";
import type { CellAnswer } from "../../src/contract/api/cellAnswers.ts";
import type { Cell } from "../../src/contract/cell.ts";
import type { Drawing } from "./Figure.ts";
import { bottomAxis, leftAxis } from "./plainAxis.ts";
import { coordinate, drawingRoot, svg } from "./svg.ts";

const height = 300;
const edges = { left: 48, top: 44, bottom: 256 } as const;

/** How likely a verdict would be with more runs, if the true change were the smallest difference that matters. */
export function powerFigure(
  power: NonNullable<CellAnswer["power"]>,
  cell: Cell,
  text: { width: number; title: string; description: string },
): Drawing {
  const { runs, low, middle, high, target } = power;
  const { width } = text;
  const frame = { ...edges, right: width - 18 };
  const domain = [runs[0]!, runs.at(-1)!] as const;
  // where the spread is hardly known the high end lies far away, and what matters would be pressed to the left
  const far = domain[1] / domain[0] > 20;
  const x = (far ? scaleLog : scaleLinear)(domain, [frame.left, frame.right]);
  const y = scaleLinear([0, 1], [frame.bottom, frame.top]);
  const at = (values: readonly number[]): [number, number][] => values.map((value, k) => [x(runs[k]!), y(value)]);
  const curve = (values: readonly number[]): string => `M${at(values).map(joined).join("L")}`;
  const between = `${curve(low)}L${at(high).reverse().map(joined).join("L")}Z`;
  return {
    svg: drawingRoot({ width, height }, text, [
      leftAxis({
        scale: y,
        domain: [0, 1],
        at: frame.left,
        grid: frame.right,
        label: "chance of a verdict",
        gap: 26,
        ticks: [0, 0.2, 0.4, 0.6, 0.8, 1],
        words: percent,
      }),
      bottomAxis({
        scale: x,
        domain,
        at: frame.bottom,
        grid: frame.bottom,
        label: "runs per configuration",
        ticks: far ? decades(domain) : runTicks(domain, (frame.right - frame.left) / 40),
      }),
      svg("path", { class: "range", d: between }),
      svg("path", { class: "line outer", d: curve(low) }),
      svg("path", { class: "line outer", d: curve(high) }),
      svg("path", { class: "line", d: curve(middle) }),
      svg("line", { class: "line target", x1: frame.left, x2: frame.right, y1: y(target), y2: y(target) }),
      svg("text", {
        class: "quiet-text halo",
        x: frame.right,
        y: y(target) - 4,
        "text-anchor": "end",
        text: `asked for: ${percent(target)}`,
      }),
      ...flownMark(Math.min(cell.baseline.n, cell.candidate.n), x, domain),
      ...neededMark(cell.runs_needed?.middle ?? null, {
        x,
        domain,
        top: y(target),
        middle: (frame.left + frame.right) / 2,
      }),
    ]),
    table: {
      columns: [
        "runs per configuration",
        "chance, spread at its low end",
        "chance, spread as estimated",
        "chance, spread at its high end",
      ],
      rows: runs.map((count, k) => [count, chance(low[k]!), chance(middle[k]!), chance(high[k]!)]),
    },
  };
}

const joined = ([x, y]: [number, number]): string => `${coordinate(x)},${coordinate(y)}`;

type Across = (runs: number) => number;
type Ends = readonly [number, number];

/** How many runs were flown; nothing where that lies beside the figure. */
function flownMark(flown: number, x: Across, [first, last]: Ends): SVGElement[] {
  if (flown < first || flown > last) return [];
  return [
    svg("line", { class: "mirrored", x1: x(flown), x2: x(flown), y1: edges.top, y2: edges.bottom }),
    svg("text", { class: "quiet-text", x: x(flown) + 4, y: edges.top - 6, text: `flown: ${flown}` }),
  ];
}

/** How many runs are needed, down from the chance that is asked for; nothing where that lies beyond the figure. */
function neededMark(
  needed: number | null,
  {
    x,
    domain,
    top,
    middle,
  }: { readonly x: Across; readonly domain: Ends; readonly top: number; readonly middle: number },
): SVGElement[] {
  if (needed === null || needed > domain[1]) return [];
  const pin = x(needed);
  const over = pin > middle;
  return [
    svg("line", { class: "observed", x1: pin, x2: pin, y1: top, y2: edges.bottom }),
    svg("text", {
      class: "strong",
      x: pin + (over ? -5 : 5),
      y: edges.bottom - 6,
      "text-anchor": over ? "end" : "start",
      text: `${needed} needed`,
    }),
  ];
}

function percent(share: number): string {
  return `${Math.round(share * 100)} %`;
}

function chance(share: number): number {
  return Number(share.toFixed(3));
}

/** Whole numbers of runs. */
function runTicks([from, to]: readonly [number, number], most: number): number[] {
  const step = Math.max(1, [1, 2, 5, 10, 20, 50, 100].find((each) => (to - from) / each <= Math.min(9, most)) ?? 100);
  const ticks: number[] = [];
  for (let k = Math.ceil(from / step) * step; k <= to; k += step) ticks.push(k);
  return ticks;
}

function decades([from, to]: readonly [number, number]): number[] {
  return [1, 2, 5, 10, 20, 50, 100, 200, 500].filter((count) => count >= from && count <= to);
}
