import "../style/run.css";
import "../style/why.css";
import { apiPaths } from "../../src/contract/api/paths.ts";
import type { AuditAnswer } from "../../src/contract/api/reasonsAnswers.ts";
import { looksText, openingText } from "../../src/words/openingText.ts";
import { element } from "../app/element.ts";
import { fetchAnswer } from "../app/fetchAnswer.ts";
import type { View } from "../app/View.ts";
import { blocksPart } from "./audit/blocksPart.ts";
import { configurationsPart } from "./audit/configurationsPart.ts";
import { findingsPart } from "./audit/findingsPart.ts";
import { fittedPart } from "./audit/fittedPart.ts";
import { orderPart } from "./audit/orderPart.ts";
import { shamPart } from "./audit/shamPart.ts";

/** What else than the counterweights could have made the difference, and what a reviewer will ask about. */
export const auditView: View = async (root, { campaign, left }) => {
  const loading = element("p", { class: "quiet loading", role: "status", text: "Fetching the audit …" });
  root.append(loading);
  const { audit, fitted, looks } = await fetchAnswer<AuditAnswer>(apiPaths.audit, { signal: left });
  loading.replaceWith(
    element("h1", { text: "Audit", tabindex: "-1" }),
    element("p", {
      class: "reading",
      text: "What else than the counterweights could have made the difference: how the flights were laid out, in which order, from which packs, at which mass, and what was left out, fitted and looked at.",
    }),
    findingsPart(audit.findings),
    blocksPart(campaign, audit.blocks),
    ...(campaign.blind ? [] : [orderPart(campaign, audit.order)]),
    configurationsPart(campaign, audit.configurations),
    ...[shamPart(campaign, audit.sham)].filter((part) => part !== null),
    element("section", {}, [
      element("h2", { text: looks === null ? "Masses" : "Looks" }),
      element("p", {
        text:
          looks === null
            ? "Masses are shown because they are checked here; they can give a configuration away. What rests on the errors (drift, sham, checks per configuration) waits for the evaluation."
            : `${looksText(looks)}${looks.opened === undefined ? "" : ` ${openingText(looks.opened)}`}`,
      }),
    ]),
    fittedPart(fitted),
  );
};
