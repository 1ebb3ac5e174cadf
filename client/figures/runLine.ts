import type { MeasureUnit } from "../../src/catalogue/measures.ts";
import type { CellRun } from "../../src/contract/api/cellAnswers.ts";
import type { Subject } from "../../src/foundation/tracks.ts";
import { unitName } from "../../src/words/amounts.ts";
import { addressOf } from "../app/address.ts";
import { shortName } from "../app/element.ts";
import { amount } from "../app/words.ts";
import { coordinate, svg } from "./svg.ts";

/**
 * The line of one run, a link to its page: its name, its cycles as small marks, its sign, and its value at the right.
 *
 * @param options.cycles  the cycles are of the same measure as the run
 */
export function runLine(
  run: CellRun,
  y: number,
  x: (value: number) => number,
  options: {
    subject: Subject;
    role: "baseline" | "candidate";
    unit: MeasureUnit;
    decimals: number;
    cycles: boolean;
    nameEnd: number;
    valueEnd: number;
  },
): SVGElement {
  const { subject, role, unit, decimals, cycles, nameEnd, valueEnd } = options;
  const block = run.block === null ? "" : `, ${run.block}`;
  const known = run.per_cycle.filter((value) => value !== null);
  const faint = run.used ? "" : " quiet-text";
  const href = addressOf({ page: "run", run: run.id, subject, window: null });
  const parts = [
    svg("text", {
      class: `row-text${faint}`,
      x: nameEnd,
      y: y + 4,
      "text-anchor": "end",
      text: shortName(`${run.id}${block}`, 19),
    }),
    ...(cycles
      ? [
          svg("path", {
            class: `cycle ${run.used ? role : ""}`,
            d: known.map((value) => `M${coordinate(x(value))},${y - 5}v10`).join(""),
          }),
        ]
      : []),
    ...(run.value === null
      ? []
      : [
          runSign(role, x(run.value), y, 4.2, {
            unused: !run.used,
            title: `${run.id}: ${amount(run.value, unit, decimals)} ${unitName(unit)}${run.used ? "" : `, not used: ${run.excluded_because}`}`,
          }),
        ]),
    svg("text", {
      class: `row-text${faint}`,
      x: valueEnd,
      y: y + 4,
      "text-anchor": "end",
      text: run.used ? amount(run.value, unit, decimals) : "left out",
    }),
  ];
  const ground = svg("rect", { class: "line-ground", x: 0, y: y - 9, width: valueEnd, height: 18 });
  return svg("a", { href, class: "run-link", "data-run": run.id }, [ground, ...parts]);
}

type Role = "baseline" | "candidate" | "sham" | "other";

/** The sign of a run: open circle, filled diamond, open square, open triangle; a run that does not count is struck through. `run`: its name, by which it lights up with its like. */
export function runSign(
  role: Role,
  x: number,
  y: number,
  size: number,
  options: { title?: string; unused?: boolean; run?: string } = {},
): SVGElement {
  const { title, unused = false, run = null } = options;
  const mark = svg("path", {
    class: `run ${role}${unused ? " unused" : ""}`,
    d: `${outline(role, size)}${unused ? slash(size * 1.9) : ""}`,
    "data-run": run,
    transform: `translate(${round(x)},${round(y)})`,
  });
  if (title !== undefined) mark.append(svg("title", { text: title }));
  return mark;
}

function outline(role: Role, r: number): string {
  if (role === "baseline") return `M${-r},0a${r},${r} 0 1,0 ${2 * r},0a${r},${r} 0 1,0 ${-2 * r},0Z`;
  const d = round(1.25 * r);
  if (role === "candidate") return `M0,${-d}L${d},0L0,${d}L${-d},0Z`;
  return role === "sham" ? `M${-r},${-r}H${r}V${r}H${-r}Z` : `M0,${-d}L${d},${r}H${-d}Z`;
}

function slash(d: number): string {
  return `M${-d},${d}L${d},${-d}`;
}

function round(value: number): number {
  return Math.round(value * 100) / 100;
}
