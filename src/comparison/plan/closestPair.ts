import type { PlannedFlight } from "./flightOrder.ts";

/**
 * The two flights of a configuration on one trajectory that are flown closest together, in the first block that has two;
 * where no block has, of the whole order. The earlier two where several are as close.
 *
 * @returns their indices over all flights; null where there are not two
 */
export function closestPair(
  order: readonly (readonly PlannedFlight[])[],
  configuration: string,
): readonly [number, number] | null {
  let first = 0;
  for (const flights of order) {
    const found = closest(flights, configuration);
    if (found !== null) return [first + found[0], first + found[1]];
    first += flights.length;
  }
  return closest(order.flat(), configuration);
}

function closest(flights: readonly PlannedFlight[], configuration: string): readonly [number, number] | null {
  const last = new Map<string, number>();
  let found: readonly [number, number] | null = null;
  for (const [i, flight] of flights.entries()) {
    if (flight.configuration !== configuration) continue;
    const before = last.get(flight.trajectory);
    if (before !== undefined && (found === null || i - before < found[1] - found[0])) found = [before, i];
    last.set(flight.trajectory, i);
  }
  return found;
}
