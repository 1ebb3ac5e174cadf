import "../style/run.css";
import "../style/why.css";
import { measureOf } from "../../src/catalogue/measures.ts";
import type { CampaignView } from "../../src/contract/api/campaignAnswer.ts";
import type { AuditAnswer } from "../../src/contract/api/cellAnswers.ts";
import { apiPaths } from "../../src/contract/api/paths.ts";
import type { Audit } from "../../src/contract/audit.ts";
import { unitName } from "../../src/words/amounts.ts";
import { openingText } from "../../src/words/findingWords.ts";
import { looksText } from "../../src/words/lookWords.ts";
import { axisAt } from "../../src/words/places.ts";
import { element } from "../app/element.ts";
import { fetchAnswer } from "../app/fetchAnswer.ts";
import type { View } from "../app/View.ts";
import { fixed, intervalText, noValue, probabilityValue, signedAmount } from "../app/words.ts";
import { tableMillimetres } from "../figures/uncertainMillimetres.ts";
import { configurationsPart, orderPart } from "./audit/configurationsPart.ts";
import { findingsPart } from "./audit/findingsPart.ts";
import { figuresTable, type TableCell } from "./run/figuresTable.ts";
import { configurationLabel } from "./why/movingPart.ts";

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
    findingsPart(audit.findings, "None, as far as blocks, order, packs and masses are declared."),
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

/** Everything estimated from or applied to the data. */
function fittedPart(fitted: AuditAnswer["fitted"]): HTMLElement {
  return element("section", { class: "audit-fitted" }, [
    element("h2", { text: "What was fitted or applied" }),
    element("p", {
      class: "reading",
      text: "No rotation, translation or time shift is fitted to a run to make it look better. This is all that was estimated from the data or applied to it, and how far it moved the error (rms).",
    }),
    fitted.length === 0
      ? element("p", { text: "Nothing." })
      : element("details", {}, [
          element("summary", { text: `${fitted.length} entries` }),
          figuresTable({
            name: "fitted",
            caption: "Fitted or applied",
            columns: ["what", "on", "value", "moved, mm"],
            rows: fitted.map(({ what, on, value, moved }) => [
              { text: what },
              { text: on },
              { text: value },
              moved === null ? { text: noValue, value: null } : { text: String(tableMillimetres(moved)), value: moved },
            ]),
          }),
        ]),
  ]);
}

/** Runs per trajectory, block and configuration. */
function blocksPart(campaign: CampaignView, blocks: Audit["blocks"]): HTMLElement {
  const names = [...new Set(blocks.flatMap(({ configurations }) => Object.keys(configurations)))];
  return element("section", { class: "audit-blocks" }, [
    element("h2", { text: "Blocks" }),
    element("p", {
      class: "reading",
      text: "Comparing within blocks (a day, a battery pack) keeps what the days differ by out of the difference. That takes both configurations in every block, best in equal numbers.",
    }),
    figuresTable({
      name: "audit blocks",
      caption: "Used runs, of those filed, and their mean heading",
      columns: ["trajectory", "block", ...names.map((name) => configurationLabel(campaign, name))],
      rows: blocks.map(({ trajectory, block, configurations }) => [
        { text: trajectory },
        { text: block ?? "none declared" },
        ...names.map((name) => {
          const counts = configurations[name];
          if (counts === undefined) return { text: "0" };
          const heading = counts.heading === null ? "" : `, ${fixed((counts.heading * 180) / Math.PI, 0)}°`;
          return { text: `${counts.used} of ${counts.filed}${heading}` };
        }),
      ]),
    }),
  ]);
}

type Contrast = Audit["sham"][number]["balancing"];

/** What balancing does at the same mass, and what the mass alone does; nothing where no sham is declared. */
function shamPart(campaign: CampaignView, sham: Audit["sham"]): HTMLElement | null {
  if (campaign.sham === null) return null;
  const label = configurationLabel(campaign, campaign.sham);
  const si = measureOf(campaign.primary).unit;
  const unit = unitName(si);
  const contrast = ({ difference, ci95, p, runs }: Contrast): TableCell[] => [
    { text: signedAmount(difference, si, 2), value: difference },
    { text: ci95 === null ? noValue : intervalText(ci95, si, 2) },
    { text: probabilityValue(p), value: p },
    { text: `${runs[0]} v ${runs[1]}` },
  ];
  return element("section", { class: "audit-sham" }, [
    element("h2", { text: "Balance, or mass?" }),
    element("p", {
      class: "reading",
      text: `${label} carries the same mass at the centre of mass. Against it, the candidate shows what balancing does; it against the baseline, what the mass does. Exploratory: no verdicts; p is of each comparison alone.`,
    }),
    figuresTable({
      name: "sham comparison",
      caption: "Candidate less sham (balancing), sham less baseline (mass)",
      columns: [
        "cell",
        `balancing, ${unit}`,
        "95 % interval",
        "p",
        "runs",
        `mass, ${unit}`,
        "95 % interval of the mass",
        "p of the mass",
        "runs for the mass",
      ],
      rows: sham.map((one) => [
        { text: `${one.trajectory} ${one.subject} ${axisAt(campaign.judged_in, one)}` },
        ...contrast(one.balancing),
        ...contrast(one.mass),
      ]),
    }),
  ]);
}
