import { addressOf } from "../../app/address.ts";
import { element } from "../../app/element.ts";
import { roleSigns } from "../../app/verdictSigns.ts";
import { fixed, instantText } from "../../app/words.ts";
import { decideAction } from "./decideAction.ts";
import type { RunPage } from "./RunPage.ts";

/** Who the run is: configuration, trajectory, circumstances, and whether it counts. */
export function runHeadline(page: RunPage): HTMLElement {
  const { run, configuration, trajectory, tone } = page;
  const facts: [string, string | null][] = [
    ["Trajectory", trajectory === null ? run.trajectory : `${run.trajectory}: ${trajectory.text}`],
    ["Block", run.block],
    ["Started", run.started === null ? null : `${instantText(run.started)} UTC`],
    ["Battery", run.battery],
    ["Take-off mass", run.takeoff_mass === null ? null : `${fixed(run.takeoff_mass, 3)} kg`],
    ["Outcome", run.outcome],
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
