import { estimateDifference } from "./estimateDifference.ts";
import { runValues } from "./runValues.ts";

/** A flight by its place in the order, counted over all flights. */
export interface PlacedFlight {
  readonly place: number;
  readonly block: string | null;
  readonly candidate: boolean;
}

/**
 * Places by which the candidate's flights come later than the baseline's, taken as the verdicts take a difference: within
 * blocks, each weighted as there. A steady drift of d a flight fakes a difference of d times this.
 *
 * @param flights  of one trajectory
 * @returns 0 where the order is balanced; null where a configuration was not flown
 * @example of AAABBB 3, ABABAB 1, ABBAAB 1/3, ABBA 0
 */
export function placesLater(flights: readonly PlacedFlight[]): number | null {
  const estimate = estimateDifference(
    runValues(flights.map(({ place, block, candidate }) => ({ value: place, block, candidate }))),
  );
  const later = estimate?.difference ?? differenceOfMeans(flights);
  if (later === null) return null;
  // places are whole: what is left of a balanced order is rounding
  return Math.abs(later) < 1e-9 ? 0 : later;
}

/** A lone flight in a configuration has a place, if no spread. */
function differenceOfMeans(flights: readonly PlacedFlight[]): number | null {
  const [baseline, candidate] = [false, true].map((side) => flights.filter((flight) => flight.candidate === side));
  if (baseline!.length === 0 || candidate!.length === 0) return null;
  const mean = (side: readonly PlacedFlight[]): number => side.reduce((sum, { place }) => sum + place, 0) / side.length;
  return mean(candidate!) - mean(baseline!);
}
