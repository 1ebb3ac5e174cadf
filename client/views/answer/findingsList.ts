import type { RunRow } from "../../../src/contract/api/runAnswers.ts";
import { type GroupedFinding, groupedFindings, isOpen } from "../../../src/words/findingWords.ts";
import { addressOf } from "../../app/address.ts";
import { element } from "../../app/element.ts";
import { severitySigns } from "../../app/statusWords.ts";
import { countText, typeset } from "../../app/words.ts";

/**
 * What was found in the runs' data, one line for one finding: how grave, on how many runs, and in words; opened, it names its runs and
 * says what to do. Notes stand with their runs. null where nothing was found.
 */
export function findingsList(runs: readonly RunRow[]): HTMLElement | null {
  const findings = groupedFindings(runs, isOpen).sort((a, b) => grade(a) - grade(b) || b.runs.length - a.runs.length);
  if (findings.length === 0) return null;
  return element("section", { class: "findings-list", "aria-labelledby": "findings-title" }, [
    element("h2", { id: "findings-title", text: "Findings" }),
    ...findings.map((finding) => line(finding, runs.length)),
  ]);
}

function grade({ severity }: GroupedFinding): number {
  return severity === "unusable" ? 0 : 1;
}

function line({ code, severity, message, hint, runs }: GroupedFinding, all: number): HTMLElement {
  const count = runs.length === all && all > 1 ? `all ${all} runs` : countText(runs.length, "run");
  return element("details", { class: `finding-line ${severity}` }, [
    element("summary", {}, [
      element("span", { class: "check-sign", "aria-hidden": "true", text: severitySigns[severity] }),
      element("strong", { text: ` ${severity}: ${code}, ${count}: ` }),
      typeset(message),
    ]),
    element("p", {}, [
      "Runs: ",
      ...runs.flatMap((run, k) => [
        k === 0 ? "" : ", ",
        element("a", {
          href: addressOf({ page: "run", run, subject: "vehicle", window: null }),
          text: run,
          data: { run },
        }),
      ]),
      ".",
    ]),
    hint === "" ? null : element("p", {}, [element("strong", { text: "What to do: " }), typeset(hint)]),
  ]);
}
