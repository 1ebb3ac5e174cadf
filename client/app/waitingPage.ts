import type { ServiceState } from "../../src/contract/api/messages.ts";
import { element } from "./element.ts";
import { AnswerError } from "./fetchAnswer.ts";
import { progressText, untold, wordsOf } from "./statusWords.ts";

/** The page before there is an evaluation: how far the first one is, or why it failed. */
export function waitingPage(state: ServiceState): HTMLElement {
  const { noun } = wordsOf(state);
  const done = state.blind ? "checked" : "evaluated";
  if (state.status === "failed") {
    const error = new AnswerError(
      state.error ?? { code: "unknown", message: "the service does not say why", hint: "look at its terminal" },
    );
    const page = faultPage(`The campaign could not be ${done}`, error, null);
    page.append(
      element("p", {
        class: "quiet",
        text: "The service watches the campaign's files: once they are mended it reads them again and this page follows.",
      }),
    );
    return page;
  }
  const { progress } = state;
  return element("section", { class: "waiting" }, [
    element("h1", { text: `The campaign is being ${done}`, tabindex: "-1" }),
    element("progress", {
      max: progress?.total ?? 1,
      value: progress === null ? null : progress.done,
      "aria-label": `runs ${done}`,
    }),
    element("p", { text: progressText(state) }),
    element("p", { class: "quiet", text: `The first ${noun} reads every log; later ones only what has changed.` }),
  ]);
}

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
