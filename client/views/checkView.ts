import type { ServiceState } from "../../src/contract/api/messages.ts";
import { apiPaths } from "../../src/contract/api/paths.ts";
import type { RunsAnswer } from "../../src/contract/api/runAnswers.ts";
import { addressOf } from "../app/address.ts";
import { element, notify } from "../app/element.ts";
import { fetchAnswer, sendChange } from "../app/fetchAnswer.ts";
import type { View } from "../app/View.ts";
import { typeset } from "../app/words.ts";
import { findingsList } from "./answer/findingsList.ts";
import { runsTable } from "./answer/runsTable.ts";

/** The first screen of a blind service: can the campaign be evaluated, what is hidden, and the runs with what is wrong. */
export const checkView: View = async (root, { campaign, left }) => {
  const loading = element("p", { class: "quiet loading", text: "Fetching the runs…" });
  root.append(loading);
  const { runs } = await fetchAnswer<RunsAnswer>(apiPaths.runs, { signal: left });
  loading.replaceWith(
    element("section", { class: "answer-place", "aria-labelledby": "check-title" }, [
      element("h1", { id: "check-title", class: "unseen", tabindex: "-1", text: "The check" }),
      ...campaign.answer.map((text, k) =>
        element("p", { class: k === 0 ? "answer" : "answer-more", text: typeset(text) }),
      ),
    ]),
    ...[findingsList(runs)].filter((part) => part !== null),
    element("section", { "aria-labelledby": "runs-title" }, [
      element("h2", { id: "runs-title", text: "Runs" }),
      runsTable(campaign, runs, 1),
    ]),
    openingPart(),
  );
};

/** The end of being blind, asked for twice: what is seen cannot be unseen. */
function openingPart(): HTMLElement {
  const fault = element("p", { class: "dialog-fault", role: "alert" });
  const dialog = element("dialog", { "aria-labelledby": "opening-question" }, [
    element("h2", { id: "opening-question", text: "Open the answer now?" }),
    element("p", {
      text: "Manifest, logs and exclusions are recorded as they stand. Whatever is changed later, the audit lists as changed after the answer was seen.",
    }),
    fault,
    element("div", { class: "dialog-foot" }, [
      element("button", { type: "button", text: "Not yet", on: { click: () => dialog.close() } }),
      element("button", { type: "button", text: "Open the answer", on: { click: () => send() } }),
    ]),
  ]);
  const send = (): void => {
    sendChange<ServiceState>("POST", apiPaths.opening, {}).then(
      () => {
        dialog.close();
        notify("The answer is being worked out; this page follows.");
      },
      (error: unknown) => {
        fault.textContent = error instanceof Error ? `Not done: ${error.message}` : "Not done.";
      },
    );
  };
  return element("section", { "aria-labelledby": "opening-title", class: "no-print" }, [
    element("h2", { id: "opening-title", text: "The answer" }),
    element("p", {
      class: "reading",
      text: "Closed until set-up and exclusions are right: a choice that is made while the answer is seen can follow the answer.",
    }),
    element("p", {}, [
      element("button", { type: "button", text: "Open the answer …", on: { click: () => dialog.showModal() } }),
    ]),
    dialog,
  ]);
}

/** What a blind service does not show, and how to see it. */
export const closedView: View = async (root) => {
  root.append(
    element("section", {}, [
      element("h1", { text: "Not before the campaign is opened", tabindex: "-1" }),
      element("p", {
        text: "This page compares the configurations, and this service is blind. Once set-up and exclusions are right, the page Check opens the answer.",
      }),
      element("p", {}, [element("a", { href: addressOf({ page: "check" }), text: "To the check" })]),
    ]),
  );
};
