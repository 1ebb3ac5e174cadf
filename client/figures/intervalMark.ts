import { svg } from "./svg.ts";

/** A difference with its intervals on one line: ends of the 95 % interval, the 90 % one thick, the estimate as a box. */
export function intervalMark(
  y: number,
  scale: (metres: number) => number,
  {
    difference,
    ci95,
    ci90 = null,
  }: { difference: number; ci95: readonly [number, number] | null; ci90?: readonly [number, number] | null },
  size = 5,
): SVGElement[] {
  const at = scale(difference);
  const ends = ci95?.map(scale) ?? null;
  const inner = ci90?.map(scale) ?? null;
  return [
    ...(ends === null
      ? []
      : [
          svg("path", {
            class: "interval",
            d: `M${ends[0]},${y - size}v${2 * size}M${ends[0]},${y}H${ends[1]}M${ends[1]},${y - size}v${2 * size}`,
          }),
        ]),
    ...(inner === null ? [] : [svg("path", { class: "interval inner", d: `M${inner[0]},${y}H${inner[1]}` })]),
    svg("rect", { class: "estimate", x: at - 3, y: y - size - 2, width: 6, height: 2 * size + 4 }),
  ];
}
