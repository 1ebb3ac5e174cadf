import type { Forecast, SharedNumber, ToFlight } from "../contract/benchToFlight.ts";
import type { CampaignEvaluation } from "../contract/evaluation.ts";
import type { MovingParagraph } from "./movingSentences.ts";
import { namedConfigurations } from "./runGroups.ts";

const grams = (kg: number): string => `${Math.round(1000 * kg)}`;
const millimetres = (metres: number): string => (1000 * metres).toFixed(1);
const percent = (share: number): string => `${Math.round(100 * share)} %`;
const range = (interval: readonly [number, number] | null, shown: (value: number) => string): string =>
  interval === null ? "" : ` (${shown(interval[0])} to ${shown(interval[1])})`;

/** Bench and flights side by side, in words; none where the manifest has no bench. */
export function toFlightSentences(evaluation: CampaignEvaluation): MovingParagraph[] {
  const together = evaluation.bench_to_flight;
  if (together === undefined) return [];
  const { shared, forecast, assumed, sealed, held } = together;
  const labels = new Map(namedConfigurations(evaluation).map(({ key, label }) => [key, label]));
  const paragraphs: MovingParagraph[] = [
    {
      text: agreementSentence(shared),
      items: shared.map((one) => sharedSentence(one, labels.get(one.configuration) ?? one.configuration)),
    },
  ];
  if (forecast.length === 0) return paragraphs;
  paragraphs.push({
    text: "Forecast from the bench and the baseline's flights: length of the vehicle's first harmonic, in step with the arm.",
    items: forecast.map((one) => forecastSentence(one)),
  });
  if (forecast.some(({ method }) => method !== null))
    paragraphs.push({ text: sealedSentence(sealed, held), items: held.map(heldSentence) });
  if (assumed.length > 0) paragraphs.push({ text: "The forecast takes for granted:", items: assumed });
  return paragraphs;
}

/** In one sentence for the answer on one screen; none without a bench. */
export function toFlightSentence({ bench_to_flight: together }: CampaignEvaluation): string {
  if (together === undefined) return "";
  const { shared, forecast, held } = together;
  const parts = [agreementSentence(shared)];
  const made = forecast.filter(({ method }) => method !== null).length;
  if (held.length > 0)
    parts.push(`Forecast held in ${held.filter(({ within }) => within).length} of ${held.length} places.`);
  else if (made > 0)
    parts.push(
      `Forecast made for ${made} of ${forecast.length} places, for flights with the counterweights to be held against.`,
    );
  else if (forecast.length > 0) parts.push("No forecast of the flights can be made from this bench; --full says why.");
  return parts.join(" ");
}

function agreementSentence(shared: readonly SharedNumber[]): string {
  if (shared.length === 0) return "Bench and flights share no trajectory of which both show what moves.";
  const known = shared.filter(({ bench }) => bench.some(({ agrees }) => agrees !== null));
  const agree = known.filter(({ bench }) => bench.every(({ agrees }) => agrees !== false));
  if (known.length === 0)
    return "Bench and flights: too few refits or runs to say whether they show the same moving mass.";
  return `Bench and flights show the same moving mass in ${agree.length} of ${known.length} places.`;
}

function sharedSentence({ trajectory, axis, bench, flight, finding }: SharedNumber, label: string): string {
  const stand = bench.map(({ from, value, ci95 }) => `${grams(value)} g${range(ci95, grams)} from ${from}`);
  return `${trajectory}, ${axis}, ${label}: on the bench ${stand.join(", ")}; in flight ${grams(flight.value)} g${range(flight.ci95, grams)}: ${finding}.`;
}

function forecastSentence(one: Forecast): string {
  const { trajectory, axis, method, expected, prediction, baseline, cell } = one;
  const head = `${trajectory}, ${axis}:`;
  if (method === null)
    return `${head} none. Two transfers: ${one.transfers_refused}. Ratio law: ${one.ratio_law_refused}.`;
  const alike =
    one.force_reduction === null || one.moment_reduction === null
      ? ""
      : ` The bench takes away ${percent(one.force_reduction)} of the force and ${percent(one.moment_reduction)} of the moment.`;
  const means = cell === null ? "" : ` ${cell.says[0]!.toUpperCase()}${cell.says.slice(1)}.`;
  return `${head} ${millimetres(expected!)} mm${range(prediction, millimetres)} after ${millimetres(baseline)} mm, by ${method === "ratio law" ? "the ratio law" : "two transfers"}.${alike}${means}`;
}

function sealedSentence(sealed: ToFlight["sealed"], held: ToFlight["held"]): string {
  if (sealed !== null)
    return `Sealed in looks.jsonl at ${sealed.at}, before a flight with the counterweights was filed (SHA-256 ${sealed.sha256.slice(0, 12)}).${held.length > 0 ? " Held against what was flown:" : ""}`;
  return held.length > 0
    ? "No forecast was sealed before these flights: what follows is computed afterwards, and proves less."
    : "It is sealed in looks.jsonl until flights with the counterweights are filed, and held against them then.";
}

function heldSentence({
  trajectory,
  axis,
  flown,
  runs,
  expected,
  prediction,
  within,
}: ToFlight["held"][number]): string {
  return `${trajectory}, ${axis}: flown ${millimetres(flown)} mm over ${runs} runs, expected ${millimetres(expected)} mm${range(prediction, millimetres)}: ${within ? "held" : "not held"}.`;
}
