import type { FlightDay, Plan, TestCard } from "../../contract/plan.ts";
import { shortName } from "../text/nameText.ts";
import { cardsStyle } from "./cardsStyle.ts";
import { countOf } from "./countOf.ts";
import { driftSentence } from "./driftSentence.ts";
import { flightCautions } from "./flightCautions.ts";
import { htmlText } from "./htmlText.ts";
import { labelOf, type PlanNames, trajectoryInWords } from "./planNames.ts";
import { testCard } from "./testCard.ts";

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
