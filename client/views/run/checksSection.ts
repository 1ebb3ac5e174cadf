import type { RunEvaluation } from "../../../src/contract/evaluation.ts";
import { element } from "../../app/element.ts";
import { severitySigns } from "../../app/verdictSigns.ts";
import { fixed, typeset } from "../../app/words.ts";

type Check = RunEvaluation["checks"][number];

const meanings = {
  unusable: "the run leaves the verdicts",
  doubt: "look before you trust",
  note: "worth knowing",
} as const;
const order = ["unusable", "doubt", "note"] as const;

/** What was found in the run's data, the gravest first: evidence and what to do. */
export function checksSection(checks: readonly Check[]): HTMLElement {
  const sorted = order.flatMap((severity) => checks.filter((check) => check.severity === severity));
  return element("section", { class: "run-checks", "aria-labelledby": "checks" }, [
    element("h2", { id: "checks", text: "Checks" }),
    sorted.length === 0
      ? element("p", { text: "No check found anything in this run's data." })
      : element("div", { class: "check-cards" }, sorted.map(card)),
  ]);
}

function card({ code, severity, message, evidence, hint, accepted_because: because }: Check): HTMLElement {
  return element("article", { class: `check-card ${severity}` }, [
    element("h3", {}, [
      element("span", { class: "check-sign", "aria-hidden": "true", text: severitySigns[severity] }),
      ` ${severity}: ${code} `,
      element("span", { class: "quiet", text: `(${meanings[severity]})` }),
    ]),
    element("p", { text: typeset(message) }),
    because === null
      ? element("p", {}, [element("strong", { text: "What to do: " }), typeset(hint)])
      : element("p", {}, [element("strong", { text: "Taken as it is: " }), `“${because}”`]),
    Object.keys(evidence).length === 0
      ? null
      : element("details", {}, [
          element("summary", { text: "Evidence" }),
          element("table", { class: "figures evidence" }, [
            element("caption", { class: "unseen", text: `Evidence of ${code}` }),
            element(
              "tbody",
              {},
              Object.entries(evidence).map(([name, value]) =>
                element("tr", {}, [
                  element("th", { scope: "row", text: evidenceName(name) }),
                  element("td", { text: evidenceText(value) }),
                ]),
              ),
            ),
          ]),
        ]),
  ]);
}

/** @example evidenceName("longest_from_s") // => "longest from, s" */
export function evidenceName(key: string): string {
  const unit = /_(s|m|ms|hz|v|mm|ppm)$/i.exec(key);
  const words = (unit === null ? key : key.slice(0, unit.index)).replaceAll("_", " ");
  return unit === null ? words : `${words}, ${unit[1]}`;
}

function evidenceText(value: Check["evidence"][string]): string {
  if (value === null) return "not known";
  if (typeof value === "boolean") return value ? "yes" : "no";
  if (typeof value === "number") return evidenceNumber(value);
  if (typeof value === "string") return value;
  return value.map((each) => (typeof each === "number" ? evidenceNumber(each) : each)).join(", ");
}

/** Whole numbers as they are, others to four figures: evidence is read, the file holds every digit. */
function evidenceNumber(value: number): string {
  if (Number.isInteger(value)) return fixed(value, 0);
  const decimals = Math.max(0, Math.min(9, 3 - Math.floor(Math.log10(Math.abs(value)))));
  return fixed(value, decimals);
}
