import type { Plan } from "../../contract/plan.ts";
import type { Settings } from "../../contract/settings.ts";
import { CounterpoiseError } from "../../foundation/errors.ts";
import { leastAttainable } from "./detectableDifference.ts";
import type { PlannedFlight } from "./flightOrder.ts";
import { spreadOverBlocks } from "./flownCell.ts";

const mostBlocks = 4;

/**
 * Designs before they are flown: 2 to `plan_most_runs` runs per configuration in 1 to 4 blocks, spread as evenly as can be,
 * with the least p that a rearrangement of the labels within blocks could ever give.
 *
 * @param level  two-sided, of a single cell of the family
 */
export function planDesigns(level: number, settings: Settings): Plan["designs"] {
  const designs: Plan["designs"] = [];
  for (let runs = 2; runs <= settings.plan_most_runs; runs++) {
    for (let blocks = 1; blocks <= Math.min(mostBlocks, runs); blocks++) {
      const { arrangements, leastP } = leastAttainable(spreadOverBlocks(runs, blocks));
      designs.push({
        runs_per_configuration: runs,
        blocks,
        arrangements,
        p_least: leastP,
        can_reach: leastP < settings.permutation_level,
        can_reach_family: leastP < level,
      });
    }
  }
  return designs;
}

/**
 * What a person may ask of a plan: whole numbers, at least 2 runs per configuration, from 1 block to as many as runs.
 *
 * @throws CounterpoiseError  code `not-a-plan`
 */
export function checkWish({
  runs,
  blocks,
}: {
  readonly runs?: number | undefined;
  readonly blocks?: number | undefined;
}): void {
  if (runs !== undefined && !(Number.isSafeInteger(runs) && runs >= 2)) {
    refuse(
      `found ${runs} runs per configuration, expected a whole number of at least 2`,
      "a single run shows nothing of the spread between runs",
    );
  }
  if (blocks !== undefined && !(Number.isSafeInteger(blocks) && blocks >= 1)) {
    refuse(`found ${blocks} blocks, expected a whole number of at least 1`, "a block is a day, or a stretch of one");
  }
  if (runs !== undefined && blocks !== undefined && blocks > runs) {
    refuse(
      `found ${blocks} blocks for ${runs} runs per configuration, expected at most as many blocks as runs`,
      "every block has to fly every configuration, else blocks and configurations cannot be separated",
    );
  }
}

function refuse(message: string, hint: string): never {
  throw new CounterpoiseError("not-a-plan", message, { hint });
}

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
