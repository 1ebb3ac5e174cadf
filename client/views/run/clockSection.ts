import type { RunEvaluation } from "../../../src/contract/evaluation.ts";
import { element } from "../../app/element.ts";
import { fixed, noValue } from "../../app/words.ts";
import { figuresTable, numberCell, type TableCell } from "./figuresTable.ts";

/** How the run's clocks were brought together: offset and skew with their standard errors, and on what they rest. */
export function clockSection({ id, clocks }: Pick<RunEvaluation, "id" | "clocks">): HTMLElement {
  const names = Object.keys(clocks);
  return element("section", { class: "run-clocks", "aria-labelledby": "clocks" }, [
    element("h2", { id: "clocks", text: "Clock fit" }),
    element("p", {
      class: "quiet",
      text: "Offset: that clock's stamp less the reference clock's stamp of the same instant, at the run's start; skew: its growth. A second peak near 1 would mean that another offset fits as well.",
    }),
    names.length === 0
      ? element("p", { text: "Every signal of this run was stamped by the reference clock: nothing was fitted." })
      : figuresTable({
          name: `${id} clocks`,
          caption: "Clocks against the reference clock",
          columns: [
            "clock",
            "offset, ms",
            "± se, ms",
            "skew, ppm",
            "± se, ppm",
            "second peak ratio",
            "ambiguous",
            "fitted from",
          ],
          fileColumns: [
            "clock",
            "offset, s",
            "offset_se, s",
            "skew",
            "skew_se",
            "second_peak_ratio",
            "ambiguous",
            "source",
          ],
          rows: names.map((name): TableCell[] => {
            const clock = clocks[name]!;
            const offsetDecimals = digits(clock.offset_se === null ? null : 1e3 * clock.offset_se, 3);
            const skewDecimals = digits(clock.skew_se === null ? null : 1e6 * clock.skew_se, 1);
            return [
              { text: name },
              numberCell(clock.offset, (seconds) => fixed(1e3 * seconds, offsetDecimals)),
              numberCell(clock.offset_se, (seconds) => fixed(1e3 * seconds, offsetDecimals)),
              numberCell(clock.skew, (skew) => fixed(1e6 * skew, skewDecimals)),
              numberCell(clock.skew_se, (skew) => fixed(1e6 * skew, skewDecimals)),
              numberCell(clock.second_peak_ratio, (ratio) => fixed(ratio, 3)),
              { text: clock.ambiguous ? "▲ yes" : "no" },
              { text: clock.source || noValue },
            ];
          }),
        }),
  ]);
}

/** Decimals to the second digit of a standard error in the unit that is read. */
function digits(error: number | null, otherwise: number): number {
  if (error === null || !(error > 0)) return otherwise;
  return Math.max(0, Math.min(6, 1 - Math.floor(Math.log10(error))));
}
