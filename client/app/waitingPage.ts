import type { ServiceState } from "../../src/contract/api/serviceState.ts";
import { AnswerError } from "./AnswerError.ts";
import { element } from "./element.ts";
import { faultPage } from "./faultPage.ts";
import { progressText, wordsOf } from "./statusWords.ts";

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
