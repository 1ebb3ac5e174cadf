import { scaleLinear } from "d3";
import type { CellAnswer } from "../../src/contract/api/cellAnswers.ts";
import { signedMillimetres } from "../app/words.ts";
import type { Drawing } from "./Figure.ts";
import { bottomAxis, leftAxis } from "./plainAxis.ts";
import { drawingRoot, svg } from "./svg.ts";

const width = 600;
const height = 280;
const area = { left: 44, right: 588, top: 52, bottom: 238 } as const;

/** How the difference would have come out under other labels: a histogram, the one flown marked, what is as extreme dark. */
export function permutationFigure(
  permutation: NonNullable<CellAnswer["permutation"]>,
  text: { title: string; description: string; decimals: number },
): Drawing {
  const { edges, counts, extreme, observed } = permutation;
  const domain = [edges[0]! * 1000, edges.at(-1)! * 1000] as const;
  const x = scaleLinear(domain, [area.left, area.right]);
  const most = Math.max(1, ...counts);
  const y = scaleLinear([0, most * 1.08], [area.bottom, area.top]);
  const bars = counts.flatMap((count, k) => {
    const [from, to] = [x(edges[k]! * 1000), x(edges[k + 1]! * 1000)];
    const bar = (name: string, low: number, high: number): SVGElement | null =>
      high <= low
        ? null
        : svg("rect", {
            class: name,
            x: from + 0.5,
            width: Math.max(0.5, to - from - 1),
            y: y(high),
            height: y(low) - y(high),
          });
    return [bar("bar extreme", 0, extreme[k]!), bar("bar", extreme[k]!, count)];
  });
  const at = x(observed * 1000);
  const label = `as flown ${signedMillimetres(observed, text.decimals)} mm`;
  const end = at > (area.left + area.right) / 2;
  return {
    svg: drawingRoot({ width, height }, text, [
      leftAxis({
        scale: y,
        domain: [0, most * 1.08],
        at: area.left,
        grid: area.right,
        label: "arrangements",
        ticks: wholeTicks(most),
      }),
      bottomAxis({
        scale: x,
        domain,
        at: area.bottom,
        grid: area.bottom,
        label: "difference under rearranged labels, mm",
      }),
      ...bars,
      svg("line", {
        class: "mirrored",
        x1: x(-observed * 1000),
        x2: x(-observed * 1000),
        y1: area.top,
        y2: area.bottom,
      }),
      svg("line", { class: "observed", x1: at, x2: at, y1: area.top, y2: area.bottom }),
      svg("text", {
        class: "strong",
        x: at + (end ? 4 : -4),
        y: 14,
        "text-anchor": end ? "end" : "start",
        text: label,
      }),
    ]),
    table: {
      columns: ["from (mm)", "to (mm)", "arrangements", "of these at least as far from 0 as flown"],
      rows: counts.map((count, k) => [shown(edges[k]!), shown(edges[k + 1]!), count, extreme[k]!]),
    },
  };
}

function wholeTicks(most: number): number[] {
  const step = Math.max(1, Math.ceil(most / 4));
  return Array.from({ length: Math.floor(most / step) + 1 }, (_, k) => k * step);
}

function shown(metres: number): number {
  return Number((metres * 1000).toPrecision(4));
}
