import type { ExclusionsAnswer } from "../../../src/contract/api/messages.ts";
import { apiPaths } from "../../../src/contract/api/paths.ts";
import type { RunAnswer, RunRow } from "../../../src/contract/api/runAnswers.ts";
import { addressOf } from "../../app/address.ts";
import { element, notify } from "../../app/element.ts";
import { sendChange } from "../../app/fetchAnswer.ts";
import { roleSigns } from "../../app/statusWords.ts";
import { fixed, instantText } from "../../app/words.ts";
import { decideDialog, runAction } from "../answer/decideDialog.ts";
import type { RunPage } from "./RunPage.ts";

/**
 * Who the run is: configuration, trajectory, circumstances, and whether it counts.
 *
 * @param other  a run flown alike with the other configuration, to set it beside; null where there is none
 */
export function runHeadline(page: RunPage, other: string | null): HTMLElement {
  const { run, configuration, trajectory, tone } = page;
  const facts: [string, string | null][] = [
    ["Trajectory", trajectory === null ? run.trajectory : `${run.trajectory}: ${trajectory.text}`],
    ["Block", run.block],
    ["Started", run.started === null ? null : `${instantText(run.started)} UTC`],
    ["Battery", run.battery],
    ["Take-off mass", run.takeoff_mass === null ? null : `${fixed(run.takeoff_mass, 3)} kg`],
    // of a flight whose log cannot be read nobody knows more than what was declared
    ["Outcome", run.checks.some(({ code }) => code === "log-unreadable") ? "the log cannot be read" : run.outcome],
    [run.log.length === 1 ? "Log" : "Logs", run.log.join(", ")],
    ["Notes", run.notes],
  ];
  return element("header", { class: "run-headline" }, [
    element("div", { class: "run-name" }, [
      element("h1", { text: `Run ${run.id}`, tabindex: "-1" }),
      run.configuration === null
        ? null
        : element("p", { class: "run-configuration" }, [
            element("span", { class: `sign ${tone}`, "aria-hidden": "true", text: roleSigns[tone] }),
            element("strong", { text: configuration?.label || run.configuration }),
          ]),
      element("p", { class: "run-links no-print" }, [
        !page.campaign.blind && trajectory !== null && trajectory.shape !== "hold"
          ? element("a", {
              href: addressOf({ page: "synchronous", trajectory: run.trajectory, subject: page.subject }),
              text: `Arm-synchronous error of all ${run.trajectory} runs`,
            })
          : null,
        other === null
          ? null
          : element("a", {
              href: addressOf({ page: "compare", first: run.id, second: other, subject: page.subject }),
              text: `Beside ${other}, of the other configuration`,
            }),
      ]),
    ]),
    standing(page),
    element(
      "dl",
      { class: "run-facts" },
      facts.flatMap(([term, text]) =>
        text === null || text === ""
          ? []
          : [element("div", {}, [element("dt", { text: term }), element("dd", { text })])],
      ),
    ),
  ]);
}

/** Used or not and why, and a person's word on it. */
function standing({ run, decision }: RunPage): HTMLElement {
  const sentences: string[] = [];
  if (run.used) sentences.push("It counts in the verdicts.");
  else if (decision !== null && !decision.include) sentences.push("It does not count in the verdicts.");
  else sentences.push(`It does not count in the verdicts (${run.excluded_because ?? "no reason on record"}).`);
  if (decision !== null) {
    const when = decision.at === null ? "" : `, ${decision.at.slice(0, 16).replace("T", " ")} UTC`;
    const what = decision.include ? "A person put it back" : "A person excluded it";
    sentences.push(`${what}: “${decision.reason}” (${decision.source}${when}).`);
  }
  return element("p", { class: `run-standing ${run.used ? "used" : "unused"}` }, [
    element("strong", { text: run.used ? "✓ Used. " : "✕ Not used. " }),
    `${sentences.join(" ")} `,
    decideAction(run, decision),
  ]);
}

/** A person's word on this run, as among the runs of the day: leave it out, put it back, take the word back. */
function decideAction(run: RunAnswer["run"], decision: RunRow["decision"]): HTMLElement | null {
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
