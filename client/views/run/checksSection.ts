import type { RunEvaluation } from "../../../src/contract/evaluation.ts";
import { element } from "../../app/element.ts";
import { severitySigns } from "../../app/statusWords.ts";
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
function evidenceName(key: string): string {
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

type Span = readonly [number, number];

/** What a reader typed into the two fields, or why it is no window. */
type TypedWindow = { readonly window: Span } | { readonly wrong: string; readonly field: "from" | "to" };

/** hundredths of a second are finer than anyone can drag */
const decimals = 2;

/** A window as its two fields hold it: hundredths of a second. */
export function windowFields([from, to]: Span): { readonly from: string; readonly to: string } {
  return { from: from.toFixed(decimals), to: to.toFixed(decimals) };
}

/** @example windowText([20, 25.5]) // => "20.00 to 25.50 s" */
export function windowText(window: Span): string {
  const { from, to } = windowFields(window);
  return `${from} to ${to} s`;
}

/**
 * Reads the two fields. A window that reaches beyond what was recorded is cut to it.
 *
 * @param extent  what was recorded, seconds
 */
export function readWindow(from: string, to: string, extent: Span): TypedWindow {
  const ends = { from: readSeconds(from), to: readSeconds(to) };
  for (const field of ["from", "to"] as const) {
    if (ends[field] === null)
      return { field, wrong: `found "${field === "from" ? from : to}", expected seconds such as 12.5` };
  }
  const [start, end] = [ends.from!, ends.to!];
  if (!(start < end))
    return { field: "to", wrong: `found ${from.trim()} to ${to.trim()} s, expected an end after the start` };
  const window = clampWindow([start, end], extent);
  if (window === null) {
    const { from: first, to: last } = windowFields(extent);
    return { field: "from", wrong: `found a window outside the recording, expected one within ${first} to ${last} s` };
  }
  return { window };
}

function readSeconds(text: string): number | null {
  const plain = text.trim().replace("−", "-").replace(",", ".");
  return /^[+-]?(\d+(\.\d*)?|\.\d+)$/.test(plain) ? Number(plain) : null;
}

/** The part of a window that lies within what was recorded; null where none does. */
export function clampWindow([from, to]: Span, extent: Span): Span | null {
  const window = [Math.max(from, extent[0]), Math.min(to, extent[1])] as const;
  return window[0] < window[1] ? window : null;
}

/** Two instants, dragged in either direction, as a window of whole hundredths; null for a mere click. */
export function draggedWindow(a: number, b: number, least: number, extent: Span): Span | null {
  if (Math.abs(b - a) < least) return null;
  const round = (t: number): number => Number(t.toFixed(decimals));
  const [from, to] = [round(Math.min(a, b)), round(Math.max(a, b))];
  return from < to ? clampWindow([from, to], extent) : null;
}
