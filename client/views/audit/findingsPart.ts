import type { AuditFinding } from "../../../src/contract/audit.ts";
import { element } from "../../app/element.ts";

/** Doubts first, then notes, each with what to do. */
export function findingsPart(findings: readonly AuditFinding[]): HTMLElement {
  return element("section", { class: "audit-findings" }, [
    element("h2", { text: "Findings" }),
    ...(findings.length === 0
      ? [element("p", { text: "None, as far as blocks, order, packs and masses are declared." })]
      : findings.map(({ code, severity, message, hint }) =>
          element("div", { class: `finding ${severity}` }, [
            element("h3", { text: `${severity === "doubt" ? "▲ Doubt" : "● Note"}: ${code}` }),
            element("p", { text: message }),
            element("p", {}, [element("strong", { text: "What to do: " }), hint]),
          ]),
        )),
  ]);
}
