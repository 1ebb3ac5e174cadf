import { element } from "../../app/element.ts";
import { typeset } from "../../app/words.ts";

/** What is shown of a finding, of the audit or of the costs. */
interface ShownFinding {
  readonly code: string;
  readonly severity: "note" | "doubt";
  readonly message: string;
  readonly hint: string;
}

/**
 * Doubts first, then notes, each with what to do.
 *
 * @param none  what is said where there is no finding
 */
export function findingsPart(findings: readonly ShownFinding[], none: string): HTMLElement {
  return element("section", { class: "audit-findings" }, [
    element("h2", { text: "Findings" }),
    ...(findings.length === 0
      ? [element("p", { text: none })]
      : findings.map(({ code, severity, message, hint }) =>
          element("div", { class: `finding ${severity}` }, [
            element("h3", { text: `${severity === "doubt" ? "▲ Doubt" : "● Note"}: ${code}` }),
            element("p", { text: typeset(message) }),
            element("p", {}, [element("strong", { text: "What to do: " }), typeset(hint)]),
          ]),
        )),
  ]);
}
