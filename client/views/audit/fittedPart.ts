import type { AuditAnswer } from "../../../src/contract/api/reasonsAnswers.ts";
import { element } from "../../app/element.ts";
import { noValue } from "../../app/words.ts";
import { tableMillimetres } from "../../figures/uncertainMillimetres.ts";
import { figuresTable } from "../run/figuresTable.ts";

/** Everything estimated from or applied to the data. */
export function fittedPart(fitted: AuditAnswer["fitted"]): HTMLElement {
  return element("section", { class: "audit-fitted" }, [
    element("h2", { text: "What was fitted or applied" }),
    element("p", {
      class: "reading",
      text: "No rotation, translation or time shift is fitted to a run to make it look better. This is all that was estimated from the data or applied to it, and how far it moved the error (rms).",
    }),
    fitted.length === 0
      ? element("p", { text: "Nothing." })
      : element("details", {}, [
          element("summary", { text: `${fitted.length} entries` }),
          figuresTable({
            name: "fitted",
            caption: "Fitted or applied",
            columns: ["what", "on", "value", "moved, mm"],
            rows: fitted.map(({ what, on, value, moved }) => [
              { text: what },
              { text: on },
              { text: value },
              moved === null ? { text: noValue, value: null } : { text: String(tableMillimetres(moved)), value: moved },
            ]),
          }),
        ]),
  ]);
}
