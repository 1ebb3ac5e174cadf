import type { DecideRequest, ExclusionsAnswer } from "../../../src/contract/api/messages.ts";
import { apiPaths } from "../../../src/contract/api/paths.ts";
import type { RunRow } from "../../../src/contract/api/runAnswers.ts";
import { element } from "../../app/element.ts";
import { sendChange } from "../../app/fetchAnswer.ts";

/** as in src/contract/api/messages.ts, which the bundle does not hold */
const longestReason = 500;

/**
 * Asks for the reason to leave a run out, or to put one back, and tells the service. It stands outside the page, so that a
 * new evaluation does not take it away while somebody writes.
 *
 * @returns true once the service has taken it; false where the reader thought better of it
 */
export function decideDialog(run: string, include: boolean): Promise<boolean> {
  return new Promise((resolve) => {
    const reason = element("textarea", { id: "reason", required: true, maxlength: longestReason, rows: 3 });
    const fault = element("p", { class: "dialog-fault", role: "alert" });
    const send = element("button", { type: "submit", text: include ? `Include ${run}` : `Exclude ${run}` });
    const cancel = element("button", {
      type: "button",
      text: "Cancel",
      on: { click: () => dialog.close("cancelled") },
    });
    const form = element("form", { novalidate: true }, [
      element("h2", {
        id: "decide-title",
        text: include ? `Put ${run} back into the comparison` : `Leave ${run} out of the comparison`,
      }),
      element("p", {
        class: "quiet small",
        text: "Kept with the reason in exclusions.yaml beside the manifest, read by every command and shown in every output. The verdicts are evaluated again, shown with and without the run, and counted as another look.",
      }),
      element("label", { for: "reason", text: "Reason, in words: what happened in this flight" }),
      reason,
      fault,
      element("div", { class: "dialog-foot" }, [cancel, send]),
    ]);
    const dialog = element("dialog", { "aria-labelledby": "decide-title" }, [form]);
    reason.addEventListener("input", () => {
      fault.textContent = "";
    });
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      const text = reason.value.trim();
      if (text === "") {
        fault.textContent = "Please give the reason in words: a run is not left out or put back without one.";
        reason.focus();
        return;
      }
      fault.textContent = "";
      send.disabled = true;
      const request: DecideRequest = { run, include, reason: text };
      sendChange<ExclusionsAnswer>("POST", apiPaths.exclusions, request).then(
        () => dialog.close("done"),
        (error: unknown) => {
          send.disabled = false;
          fault.textContent = error instanceof Error ? `Not done: ${error.message}` : "Not done.";
        },
      );
    });
    dialog.addEventListener("close", () => {
      dialog.remove();
      resolve(dialog.returnValue === "done");
    });
    document.body.append(dialog);
    dialog.showModal();
    reason.focus();
  });
}

/** What a person can do about a run here. */
type RunAction =
  | { readonly kind: "exclude" | "put back"; readonly button: string }
  | { readonly kind: "take back"; readonly button: string }
  | null;

/** An unusable run cannot be put back by a word: its log or its line in the manifest must be mended. */
export function runAction({ decision, checks }: RunRow): RunAction {
  if (decision?.source === "exclusions.yaml") {
    return { kind: "take back", button: decision.include ? "Exclude again" : "Include again" };
  }
  if (checks.some(({ severity }) => severity === "unusable")) return null;
  if (decision !== null) return { kind: "put back", button: "Include…" };
  return { kind: "exclude", button: "Exclude…" };
}

/** Whether a run counts, in words. */
export function useText({ used, excluded_because: because, decision, outcome }: RunRow): string {
  const aborted = outcome === "aborted" ? "aborted; " : "";
  if (used) return decision?.include ? `${aborted}used: put back, ${decision.reason}` : `${aborted}used`;
  if (decision !== null && !decision.include) {
    const where = decision.source === "manifest" ? "manifest" : "here";
    return `${aborted}excluded (${where}): ${decision.reason}`;
  }
  // which check it was stands beside it
  const unusable = because?.startsWith("unusable") ?? false;
  return `${aborted}${unusable ? "left out: unusable" : (because ?? "not used")}`;
}

const severities = ["unusable", "doubt", "note"] as const;

/** The worst of a run's checks, counted, with their codes; "none" without any. */
export function checksText(checks: RunRow["checks"]): string {
  for (const severity of severities) {
    const found = checks.filter((check) => check.severity === severity && check.accepted_because === null);
    if (found.length === 0) continue;
    const codes = [...new Set(found.map(({ code }) => code))].join(", ");
    const word = severity === "unusable" || found.length === 1 ? severity : `${severity}s`;
    return `${found.length} ${word}: ${codes}`;
  }
  return "none";
}
