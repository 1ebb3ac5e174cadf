import type { ExclusionsAnswer } from "../../../src/contract/api/exclusionMessages.ts";
import { apiPaths } from "../../../src/contract/api/paths.ts";
import type { RunAnswer, RunRow } from "../../../src/contract/api/runAnswers.ts";
import { element } from "../../app/element.ts";
import { sendChange } from "../../app/fetchAnswer.ts";
import { notify } from "../../app/notice.ts";
import { decideDialog } from "../answer/decideDialog.ts";
import { runAction } from "../answer/decisions.ts";

/** A person's word on this run, as among the runs of the day: leave it out, put it back, take the word back. */
export function decideAction(run: RunAnswer["run"], decision: RunRow["decision"]): HTMLElement | null {
  // what may be done depends on a row's checks and decision alone
  const action = runAction({ checks: run.checks, decision } as RunRow);
  if (action === null) return null;
  const said = (what: string): void =>
    notify(`${run.id} ${what}: the verdicts are evaluated again, and shown with and without it.`);
  const decide = async (): Promise<void> => {
    if (action.kind !== "take back") {
      const include = action.kind === "put back";
      if (await decideDialog(run.id, include)) said(include ? "is put back" : "is left out");
      button.focus();
      return;
    }
    try {
      await sendChange<ExclusionsAnswer>("DELETE", apiPaths.exclusions, { run: run.id });
      said(decision?.include ? "is left out again, as the manifest says" : "is no longer left out here");
    } catch (error) {
      notify(`${run.id}: not done: ${error instanceof Error ? error.message : "the service does not say why"}`);
    }
  };
  const button = element("button", {
    type: "button",
    class: "plain no-print",
    id: "decide-run",
    text: action.button,
    "aria-label": `${action.button.replace("…", "")} ${run.id}`,
    on: { click: () => void decide() },
  });
  return button;
}
