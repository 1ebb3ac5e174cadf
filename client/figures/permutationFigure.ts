import { scaleLinear } from "d3";
import type { MeasureUnit } from "../../src/catalogue/measures.ts";
import type { CellAnswer } from "../../src/contract/api/cellAnswers.ts";
import { inShown, unitName } from "../../src/words/amounts.ts";
import { signedAmount } from "../app/words.ts";
import type { Drawing } from "./Figure.ts";
import { bottomAxis, leftAxis } from "./plainAxis.ts";
import { drawingRoot, svg } from "./svg.ts";

const height = 280;
const edge = { left: 44, top: 52, bottom: 238 } as const;

/** How the difference would have come out under other labels: a histogram, the one flown marked, what is as extreme dark. */
export function permutationFigure(
  permutation: NonNullable<CellAnswer["permutation"]>,
  text: { width: number; title: string; description: string; decimals: number; unit: MeasureUnit },
): Drawing {
  const { edges, counts, extreme, observed } = permutation;
  const { width } = text;
  const area = { ...edge, right: width - 12 };
  const unit = unitName(text.unit);
  const per = inShown(1, text.unit);
  const shown = (value: number): number => Number((value * per).toPrecision(4));
  const domain = [edges[0]! * per, edges.at(-1)! * per] as const;
  const x = scaleLinear(domain, [area.left, area.right]);
  const most = Math.max(1, ...counts);
  const y = scaleLinear([0, most * 1.08], [area.bottom, area.top]);
  const bars = counts.flatMap((count, k) => {
    const [from, to] = [x(edges[k]! * per), x(edges[k + 1]! * per)];
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
  const at = x(observed * per);
  const label = `as flown ${signedAmount(observed, text.unit, text.decimals)} ${unit}`;
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
        label: `difference under rearranged labels, ${unit}`,
      }),
      ...bars,
      svg("line", {
        class: "mirrored",
        x1: x(-observed * per),
        x2: x(-observed * per),
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
      columns: [`from (${unit})`, `to (${unit})`, "arrangements", "of these at least as far from 0 as flown"],
      rows: counts.map((count, k) => [shown(edges[k]!), shown(edges[k + 1]!), count, extreme[k]!]),
    },
  };
}

function wholeTicks(most: number): number[] {
  const step = Math.max(1, Math.ceil(most / 4));
  return Array.from({ length: Math.floor(most / step) + 1 }, (_, k) => k * step);
}
