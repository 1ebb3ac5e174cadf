import { measureOf } from "../../catalogue/measures.ts";
import { type CampaignEvaluation, pairsOf } from "../../contract/evaluation.ts";
import { defaultSettings } from "../../contract/settings.ts";
import { costCautions } from "../../words/costWords.ts";
import { openingText } from "../../words/findingWords.ts";
import { looksText } from "../../words/lookWords.ts";
import { answerSentences } from "../answerSentence.ts";
import { auditFitted } from "../audit/auditFindings.ts";
import { costSentence } from "../costSentences.ts";
import { balanceSentence, movingSentences } from "../movingSentences.ts";
import { caution } from "../noAnswer.ts";
import { familyCells, quotedConfiguration } from "../runGroups.ts";
import { smallestText } from "../smallestText.ts";
import { htmlList, htmlTable, htmlText } from "../text/html.ts";
import { textFrame } from "../text/layout.ts";
import { toFlightSentences } from "../toFlightSentences.ts";
import { methodSentences, methodSources } from "./methodSentences.ts";
import { paperFigures } from "./paperFigures.ts";
import { paperTables, verdictsName } from "./paperTables.ts";
import { reviewerQuestions } from "./reviewerQuestions.ts";

/** What the manifest says of the rig: serial numbers, firmware, dates; as written. */
export type Rig = Readonly<Record<string, string>>;

const style = `
:root { color-scheme: light; }
@page { margin: 18mm; }
body { margin: 0 auto; padding: 1.5rem; max-width: 54rem; font: 11pt/1.45 Georgia, "Times New Roman", serif; color: #111; background: #fff; }
h1 { font-size: 1.7rem; line-height: 1.2; margin: 0 0 .5rem; }
h2 { font-size: 1.2rem; margin: 2rem 0 .5rem; border-top: 1px solid #767676; padding-top: .5rem; break-after: avoid; }
p, li, td, th, caption { overflow-wrap: anywhere; }
.scroll { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; font: 8.5pt/1.3 Helvetica, Arial, sans-serif; margin: .6rem 0; }
caption { text-align: left; font-weight: bold; padding-bottom: .3rem; }
th, td { text-align: left; vertical-align: top; padding: .15rem .5rem .15rem 0; border-bottom: 1px solid #bbb; overflow-wrap: normal; }
td.number, th.number { text-align: right; font-variant-numeric: tabular-nums; }
tr, svg { break-inside: avoid; }
svg { max-width: 100%; height: auto; display: block; margin: .5rem 0; }
figure { margin: .8rem 0; break-inside: avoid; }
figcaption { font: 9pt/1.3 Helvetica, Arial, sans-serif; }
.answer { font-size: 1.15rem; }
dt { font-weight: bold; margin-top: .5rem; }
dd { margin: 0 0 0 1.2rem; }
code { font-size: .85em; overflow-wrap: anywhere; }
`;

/**
 * The report as one page that stands by itself: no scripts, nothing fetched, every name escaped, the same bytes from the same inputs.
 *
 * @param rig  what the manifest says of it; empty where it says nothing
 */
export function paperPage(evaluation: CampaignEvaluation, rig: Rig): string {
  const { title, inputs, looks, settings } = evaluation;
  const tables = paperTables(evaluation);
  const figures = paperFigures(evaluation);
  const drawn = (prefix: string): string =>
    figures
      .filter(({ name }) => name.startsWith(prefix))
      .map(({ svg, caption: words }) => `<figure>${svg(181)}<figcaption>${htmlText(words)}</figcaption></figure>`)
      .join("\n");
  const table = (name: string): string => {
    const found = tables.get(name);
    if (found === undefined || found.rows.length === 0) return "";
    const { caption, heads, rows, numeric } = found;
    return scrolled(caption, heads, rows, numeric);
  };
  const paragraphs = (texts: readonly string[]): string =>
    texts
      .filter((text) => text !== "")
      .map((text) => `<p>${htmlText(text)}</p>`)
      .join("\n");
  const family = familyCells(evaluation);
  const pairs = pairsOf(evaluation);
  const [answer = "", ...rest] = answerSentences(evaluation);
  const others = pairs.slice(1).map((pair) => answerSentences(pair).join(" "));
  const opened = looks.opened === undefined ? "" : openingText(looks.opened);
  const sections: [string, string][] = [
    [
      "The question",
      paragraphs([
        `Does the ${measureOf(settings.primary).label} of vehicle or end effector change with ${quotedConfiguration(evaluation, settings.candidate)} instead of ${quotedConfiguration(evaluation, settings.baseline)}, on which axis, by how much, and is that more than the noise${family.length === 0 ? "" : ` and more than ${smallestText(family)}`}?`,
      ]),
    ],
    [
      "The answer",
      `<p class="answer">${htmlText(answer)}</p>${paragraphs([...rest, ...others, balanceSentence(evaluation), costSentence(evaluation)])}`,
    ],
    ["Verdicts", `${pairs.map((_, k) => table(verdictsName(k))).join("\n")}${drawn("differences-")}`],
    ["What the counterweights did, apart from their mass", spoken(movingSentences(evaluation)) + drawn("moving")],
    ["From bench to flight", spoken(toFlightSentences(evaluation))],
    [
      "What it costs",
      evaluation.costs === null
        ? ""
        : `${table("costs")}${paragraphs([costCautions.all, costCautions.thrust, costCautions.minutes])}`,
    ],
    [
      "The rig",
      Object.keys(rig).length === 0
        ? ""
        : `<dl>${Object.entries(rig)
            .map(([name, value]) => `<dt>${htmlText(name)}</dt><dd>${htmlText(value)}</dd>`)
            .join("")}</dl>`,
    ],
    ["Configurations", table("configurations")],
    ["Runs and exclusions", table("runs")],
    ["Method", paragraphs(methodSentences(evaluation)) + htmlList(methodSources)],
    ["Fitted or applied to the data", fittedList(evaluation)],
    ["Settings that differ from the usual", settingsTable(evaluation)],
    ["Looks", paragraphs([looksText(looks), opened])],
    ["What a reviewer will ask", questionsList(evaluation)],
    [
      "Inputs",
      scrolled(
        "Files that were read",
        ["file", "bytes", "SHA-256"],
        inputs.map(({ path, bytes, sha256 }) => [path, String(bytes), sha256]),
        [1],
      ),
    ],
  ];
  const body = sections
    .filter(([, content]) => content !== "")
    .map(([name, content]) => `<section><h2>${htmlText(name)}</h2>\n${content}</section>`)
    .join("\n")
    // no line ends between a number and its unit
    .replace(/(\d) (?=(?:%|mm|g|kg|ms|W|min)(?![\w]))/g, "$1\u00a0");
  return `<!doctype html>
<html lang="en"><head><meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<meta name="viewport" content="width=device-width"><title>${htmlText(title)}: report</title><style>${style}</style></head>
<body><main>
<h1>${htmlText(title)}</h1>
${body}
<footer><p>${htmlText(caution)}</p></footer>
</main></body></html>
`;
}

/** A table that scrolls by itself where the window is narrower. */
function scrolled(
  caption: string,
  heads: readonly string[],
  rows: readonly (readonly string[])[],
  numeric: readonly number[],
): string {
  return `<div class="scroll" tabindex="0" role="region" aria-label="${htmlText(caption)}">${htmlTable(heads, rows, { caption, numeric })}</div>`;
}

function spoken(said: readonly { readonly text: string; readonly items: readonly string[] }[]): string {
  return said
    .map(({ text, items }) => `<p>${htmlText(text)}</p>${items.length === 0 ? "" : htmlList(items)}`)
    .join("\n");
}

/** What was fitted run by run is said once, with how far it moved results. */
function fittedList(evaluation: CampaignEvaluation): string {
  const frame = textFrame({ width: 100_000, colour: false });
  const [, ...lines] = auditFitted(evaluation, frame);
  return htmlList(lines.map((line) => line.trim()));
}

function settingsTable({ settings }: CampaignEvaluation): string {
  const usual = defaultSettings as unknown as Readonly<Record<string, unknown>>;
  const rows = Object.entries(settings.thresholds).flatMap(([name, value]) =>
    JSON.stringify(usual[name]) === JSON.stringify(value) ? [] : [[name, String(value), String(usual[name])]],
  );
  if (rows.length === 0) return "<p>None: every threshold is the usual one.</p>";
  return scrolled("Thresholds set by the manifest, SI", ["threshold", "here", "usual"], rows, [1, 2]);
}

function questionsList(evaluation: CampaignEvaluation): string {
  const questions = reviewerQuestions(evaluation);
  if (questions.length === 0) return "<p>Of what is looked for here, nothing.</p>";
  return `<dl>${questions
    .map(({ asks, answer }) => `<dt>${htmlText(asks)}</dt><dd>${htmlText(answer)}</dd>`)
    .join("\n")}</dl>`;
}
