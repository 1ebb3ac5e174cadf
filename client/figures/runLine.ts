import type { MeasureUnit } from "../../src/catalogue/measures.ts";
import type { CellRun } from "../../src/contract/api/cellAnswers.ts";
import type { Subject } from "../../src/foundation/signals.ts";
import { unitName } from "../../src/words/amounts.ts";
import { addressOf } from "../app/address.ts";
import { shortName } from "../app/names.ts";
import { amount } from "../app/words.ts";
import { runSign } from "./runSign.ts";
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
