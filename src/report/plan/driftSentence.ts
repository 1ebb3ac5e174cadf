import type { FlightDay } from "../../contract/plan.ts";
import { joinWords } from "../../words/lists.ts";
import { shortName } from "../text/nameText.ts";

/** of the value, from one flight to the next */
const drift = 0.02;

/**
 * How large a difference a steady drift of 2 % a flight would fake in this order: the drift times the places by which the
 * candidate is flown later than the baseline on average within blocks.
 *
 * @example with `later: { orbit: 1, reach: 0 }` "... would fake 2 % in orbit and nothing in reach ..."
 */
export function driftSentence({ later }: Pick<FlightDay, "later">): string {
  const entries = Object.entries(later);
  const start = `A steady drift of ${100 * drift} % from one flight to the next`;
  if (entries.every(([, places]) => share(places) === 0))
    return `${start} would fake no difference: baseline and candidate come equally late on average in each block.`;
  const stated = entries.map(([name, places]) => `${fakeText(places)} in ${shortName(name)}`);
  return `${start} would fake ${joinWords(stated)} (candidate against baseline): the order is not quite even.`;
}

function share(places: number): number {
  return Number((100 * drift * places).toFixed(1));
}

function fakeText(places: number): string {
  const percent = share(places);
  return percent === 0 ? "nothing" : `${percent > 0 ? "+" : ""}${percent} %`;
}
