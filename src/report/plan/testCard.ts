import type { FlightDay, TestCard } from "../../contract/plan.ts";
import { htmlText } from "./htmlText.ts";
import { labelOf, type PlanNames, trajectoryInWords } from "./planNames.ts";

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
export function testCard(card: TestCard, day: FlightDay, names: PlanNames): string {
  return card.kind === "flight" ? flightCard(card, day, names) : captureCard(card);
}

function flightCard(card: TestCard, day: FlightDay, names: PlanNames): string {
  const refit = card.refit
    ? `<p class="refit">Refit before this flight: take the arm off and mount it anew as this configuration has it, with or without counterweights; weigh again. First hover low with the arm parked.</p>`
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
