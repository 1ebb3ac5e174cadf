import { AnswerError } from "./AnswerError.ts";
import { element } from "./element.ts";
import { untold } from "./statusWords.ts";

/** What went wrong, where, and what to do: a page, or a part of one. */
export function faultPage(
  title: string,
  error: unknown,
  action: { text: string; run: () => void } | null,
): HTMLElement {
  const known = error instanceof AnswerError ? error : null;
  const message = known?.message ?? (error instanceof Error ? error.message : String(error));
  const rows = [
    ["Where", untold(known?.place, message) ? known?.place : undefined],
    [
      "What to do",
      (untold(known?.hint, message) ? known?.hint : undefined) ??
        (known === null ? "load the page again; if it comes back, it is a fault of this page" : undefined),
    ],
    ["Code", known?.code],
  ].filter((row): row is [string, string] => row[1] !== undefined);
  return element("section", { class: "fault", role: "alert" }, [
    element("h1", { text: title, tabindex: "-1" }),
    element("p", { class: "fault-message", text: message }),
    element(
      "dl",
      {},
      rows.flatMap(([term, text]) => [element("dt", { text: term }), element("dd", { text })]),
    ),
    action === null
      ? null
      : element("p", {}, [element("button", { type: "button", text: action.text, on: { click: action.run } })]),
  ]);
}
