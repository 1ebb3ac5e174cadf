import type { FlightDay, Plan, TestCard } from "../../contract/plan.ts";
import { htmlText } from "../text/html.ts";
import { shortName } from "../text/nameText.ts";
import { countOf, driftSentence, flightCautions, labelOf, type PlanNames, trajectoryInWords } from "./planWords.ts";

/** A place to write in by hand. */
const blank = '<span class="blank">&nbsp;</span>';
const longBlank = '<span class="blank long">&nbsp;</span>';

const before = [
  "Props sound and tight",
  "Counterweights, where mounted: retained, fastened twice, clear of the props",
  `Take-off mass, weighed ${blank} g`,
  `Battery voltage ${blank} V, within the day's window ${blank} to ${blank} V (one window for all flights)`,
  "Both bodies tracked: vehicle and tool",
  "Kill switch tested",
  "Arena clear, nobody inside",
];
const limits = [
  `Fence ${blank} m`,
  `Tilt ${blank} degrees`,
  `Voltage per cell ${blank} V`,
  `Tracking lost for ${blank} s`,
];
const capture = ["Props off", "Vehicle at rest, arm parked", "Both bodies in view", "60 s recorded, nothing touched"];

/** One card of the day, as HTML: a flight with its checks, limits and outcome, or a static capture. */
function testCard(card: TestCard, day: FlightDay, names: PlanNames): string {
  return card.kind === "flight" ? flightCard(card, day, names) : captureCard(card);
}

function flightCard(card: TestCard, day: FlightDay, names: PlanNames): string {
  const refit = card.refit
    ? `<p class="refit">Refit before this flight: take the arm off and mount it again as this configuration has it, with or without counterweights; weigh again. First hover low with the arm parked.</p>`
    : "<p>No refit: leave the arm as it is.</p>";
  const pair = card.pair
    ? "<p>One of the A/A pair: two baseline flights that show what no difference looks like.</p>"
    : "";
  return `<article class="card"><h2>${card.place}. ${htmlText(card.id!)}<span>block ${htmlText(card.block)}, ${htmlText(card.battery!)}, flight ${card.flight_on_battery} on it</span></h2>
<p class="what">${htmlText(labelOf(card.configuration!, day))}</p>
<p>${htmlText(trajectoryInWords(card.trajectory!, names))}</p>
${refit}${pair}
<div class="parts"><div><h3>Before</h3>${list(before)}</div>
<div><h3>Abort at</h3>${list(limits, "dash")}<h3>After</h3>${list(["Completed", `Aborted, because ${longBlank}`, `Battery voltage ${blank} V`])}</div></div>
${logLine(card)}<p class="fill">Remarks <i></i></p><p class="fill"><i></i></p></article>`;
}

function captureCard(card: TestCard): string {
  return `<article class="card"><h2>${card.place}. Static capture<span>block ${htmlText(card.block)}</span></h2>
${list(capture)}
${logLine(card)}<p class="fill">Remarks <i></i></p></article>`;
}

function logLine({ log }: TestCard): string {
  return `<p class="fill"><span>Log file ${htmlText(log)}; if another</span> <i></i></p>`;
}

/** @param items  HTML */
function list(items: readonly string[], kind: "tick" | "dash" = "tick"): string {
  return `<ul class="${kind}">${items.map((item) => `<li>${item}</li>`).join("")}</ul>`;
}

/**
 * Style of the printed cards. Two flights to a page, on A4 (297 mm high) as on Letter (279 mm): what is narrower in one is
 * shorter in the other, so lengths are kept to what both hold. Light, for ink.
 */
const cardsStyle = `
:root { color-scheme: light; }
@page { margin: 12mm; }
* { box-sizing: border-box; }
body { margin: 0 auto; padding: 8mm; max-width: 195mm; font: 10pt/1.35 Georgia, "Times New Roman", serif; color: #111; background: #fff; }
h1, h2, h3, p, ul, table { margin: 0; }
h1 { font-size: 18pt; font-weight: normal; border-bottom: 2pt solid #111; padding-bottom: 1mm; }
h2 { font-size: 13pt; margin: 5mm 0 1mm; }
h3 { font-size: 10pt; margin: 2mm 0 .5mm; }
h1, h2, p, td, li { overflow-wrap: anywhere; }
p { margin-top: 1mm; }
table { border-collapse: collapse; width: 100%; font-size: 9pt; }
th, td { text-align: left; vertical-align: top; padding: .4mm 2mm .4mm 0; border-bottom: .5pt solid #999; }
th { white-space: nowrap; }
tr { break-inside: avoid; }
.next td { border-top: 1.2pt solid #111; }
.card { border: 1pt solid #111; padding: 3mm 4mm; margin-top: 6mm; break-inside: avoid; }
.card h2 { display: flex; justify-content: space-between; gap: 5mm; margin: 0; border-bottom: .5pt solid #111; padding-bottom: .5mm; }
.card h2 span { font-weight: normal; font-size: 10pt; flex: none; max-width: 60%; }
.what { font-size: 14pt; line-height: 1.2; }
.refit { border-left: 3pt solid #111; padding-left: 2mm; font-weight: bold; }
.parts { display: grid; grid-template-columns: 1fr 1fr; gap: 0 6mm; }
ul { padding: 0; list-style: none; }
li { padding-left: 5mm; text-indent: -5mm; margin-top: 1.1mm; }
.tick li::before { content: ""; display: inline-block; width: 2.8mm; height: 2.8mm; margin-right: 2.2mm; border: .8pt solid #111; vertical-align: -.3mm; }
.dash li::before { content: "\\2013"; display: inline-block; width: 5mm; text-indent: 0; }
.blank { display: inline-block; min-width: 18mm; border-bottom: .8pt solid #111; text-indent: 0; }
.long { min-width: 42mm; }
.fill { display: flex; align-items: flex-end; gap: 2mm; min-height: 7mm; margin: 0; }
.fill i { flex: 1 0 30mm; border-bottom: .8pt solid #111; }
@media print {
  body { padding: 0; max-width: none; }
  .card { margin-top: 0; margin-bottom: 5mm; }
  .cover, .page { break-after: page; }
  .page:last-child { break-after: auto; }
}
`;

/** What a page of cards begins with, and no other file. */
export const cardsStart = "<!doctype html>\n<!-- Counterpoise test cards -->\n";

/**
 * The day as cards to print: a cover with the order and the cautions, then a card for each capture and flight, two flights to
 * a page. A page that stands by itself: no scripts, nothing fetched, every name escaped. Light, on A4 or Letter.
 */
export function planCardsPage(plan: Pick<Plan, "because">, day: FlightDay, names: PlanNames): string {
  const flights = day.cards.filter(({ kind }) => kind === "flight").length;
  const cover = `<section class="cover"><h1>Test cards: ${htmlText(names.title)}</h1>
<p>${countOf(flights, "flight")}: ${countOf(day.runs_per_configuration, "run")} per configuration and trajectory in ${countOf(day.blocks, "block")}; seed of the order ${day.seed}. Why so many: ${htmlText(plan.because)}.</p>
<p>Keep to the order. A flight that fails is noted and kept, not quietly flown again. ${htmlText(driftSentence(day))}</p>
<h2>Before you fly</h2><ul class="dash">${flightCautions.map((caution) => `<li>${htmlText(caution)}</li>`).join("")}</ul>
<h2>Configurations and trajectories</h2><ul class="dash">${[
    ...day.configurations.map(({ name, label, role }) => `${label} (${name}, ${role})`),
    ...day.trajectories.map((name) => trajectoryInWords(name, names)),
  ]
    .map((words) => `<li>${htmlText(words)}</li>`)
    .join("")}</ul>
<h2>The order</h2>${orderTable(day)}</section>`;
  const pages = pagesOf(day.cards).map(
    (cards) => `<section class="page">${cards.map((card) => testCard(card, day, names)).join("\n")}</section>`,
  );
  return `${cardsStart}<html lang="en"><head><meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<meta name="viewport" content="width=device-width"><title>Test cards: ${htmlText(names.title)}</title><style>${cardsStyle}</style></head>
<body>
${[cover, ...pages].join("\n")}
</body></html>
`;
}

/** Two flights to a page; a capture takes the place of one. */
function pagesOf(cards: readonly TestCard[]): TestCard[][] {
  return Array.from({ length: Math.ceil(cards.length / 2) }, (_, k) => cards.slice(2 * k, 2 * k + 2));
}

function orderTable(day: FlightDay): string {
  const heads = ["Place", "Flight", "Configuration", "Trajectory", "Block", "Pack, flight on it", "Refit", "A/A"];
  const rows = day.cards.map((card, k) => {
    const cells =
      card.kind === "flight"
        ? [
            card.id!,
            shortName(labelOf(card.configuration!, day)),
            shortName(card.trajectory!),
            card.block,
            `${card.battery}, ${card.flight_on_battery}`,
            card.refit ? "refit" : "",
            card.pair ? "A/A" : "",
          ]
        : ["static capture", "", "", card.block, "", "", ""];
    const next = k > 0 && day.cards[k - 1]!.block !== card.block ? ' class="next"' : "";
    return `<tr${next}>${[String(card.place), ...cells].map((cell) => `<td>${htmlText(cell)}</td>`).join("")}</tr>`;
  });
  return `<table><thead><tr>${heads.map((head) => `<th>${head}</th>`).join("")}</tr></thead><tbody>${rows.join("\n")}</tbody></table>`;
}
