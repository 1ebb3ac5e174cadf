import type { SeededRandom } from "../../numeric/seededRandom.ts";

/** One flight of the order; what it is called comes later. */
export interface PlannedFlight {
  readonly configuration: string;
  readonly trajectory: string;
  /** flights that share one charge of a pack share its number, which counts from 1 over the day */
  readonly pack: number;
}

/** What is to be flown. */
export interface OrderWish {
  /** the judged pair first: where an order cannot be balanced for all, it is for these */
  readonly configurations: readonly string[];
  readonly trajectories: readonly string[];
  /** runs per configuration and trajectory in each block, 1 or more */
  readonly perBlock: readonly number[];
  readonly flightsPerPack: number;
}

/** The order of a pass: which configuration first, which trajectory first. */
interface Pass {
  readonly configurations: readonly string[];
  readonly trajectories: readonly string[];
}

/**
 * A random order of flights in blocks that a steady drift cannot turn into a difference.
 *
 * In a *pass* every configuration is mounted once and flies every trajectory. Passes come in mirrored pairs: the second flies
 * the flights of the first in the opposite order (A B, B A), so that each configuration is flown as early as late. What the
 * first pair of two begins with, the second ends with (A B B A, B A A B), be it in the same block or the next; every other
 * pair is drawn again. A pass that is left over in a block is mirrored by the one left over in a later block. Only where the
 * runs are odd in number one pass stays alone, the last left over: it flies trajectory by trajectory, the judged pair next to
 * each other and in turns. That leaves 1 place over all its runs; of two configurations and one trajectory no order has less.
 *
 * Packs: configurations share every pack equally, at most `flightsPerPack` flights on a charge (one of each configuration
 * where they are more than that). A mirrored pair that fits on one charge has one; else every pass has fresh packs, each for
 * as many trajectories as fit, taken out and put back where the configuration changes between.
 *
 * @returns per block its flights in their order
 * @source D. R. Cox, Biometrika 38 (1951) 312-323 (orders that balance a trend; from memory); the construction is our own
 */
export function flightOrder(
  { configurations, trajectories, perBlock, flightsPerPack }: OrderWish,
  random: Pick<SeededRandom, "uniform">,
): PlannedFlight[][] {
  const drawPass = (): Pass => ({
    configurations: shuffled(configurations, random),
    trajectories: shuffled(trajectories, random),
  });
  const pairs = inTurns(drawPass);
  const singles = inTurns(drawPass);
  let singlesLeft = perBlock.filter((runs) => runs % 2 === 1).length;
  const alone = singlesLeft % 2 === 1;
  let pack = 0;
  const withPacks = (pass: Pass, flights: readonly Omit<PlannedFlight, "pack">[]): PlannedFlight[] => {
    const group = Math.max(1, Math.floor(flightsPerPack / configurations.length));
    const groups = Math.ceil(trajectories.length / group);
    const first = pack + 1;
    pack += groups;
    return flights.map((flight) => ({
      ...flight,
      pack: first + Math.floor(pass.trajectories.indexOf(flight.trajectory) / group),
    }));
  };
  const onePack = 2 * configurations.length * trajectories.length <= flightsPerPack;

  return perBlock.map((runs) => {
    const flights: PlannedFlight[] = [];
    for (let pair = 0; pair < Math.floor(runs / 2); pair++) {
      const pass = pairs();
      const there = flightsOf(pass);
      const back = there.toReversed();
      if (onePack) flights.push(...withPacks(pass, [...there, ...back]));
      else flights.push(...withPacks(pass, there), ...withPacks(pass, back));
    }
    if (runs % 2 === 1) {
      singlesLeft--;
      const last = alone && singlesLeft === 0;
      const pass = last ? besideOneAnother(drawPass(), configurations, random) : singles();
      flights.push(...withPacks(pass, last ? inSerpentines(pass) : flightsOf(pass)));
    }
    return flights;
  });
}

/** Every configuration mounted once, each flying all trajectories. */
function flightsOf({ configurations, trajectories }: Pass): Omit<PlannedFlight, "pack">[] {
  return configurations.flatMap((configuration) => trajectories.map((trajectory) => ({ configuration, trajectory })));
}

/** Trajectory by trajectory, the configurations forth and back. */
function inSerpentines({ configurations, trajectories }: Pass): Omit<PlannedFlight, "pack">[] {
  return trajectories.flatMap((trajectory, t) =>
    (t % 2 === 0 ? configurations : configurations.toReversed()).map((configuration) => ({
      configuration,
      trajectory,
    })),
  );
}

/** Every other pass is the one before it, backwards. */
function inTurns(draw: () => Pass): () => Pass {
  let before: Pass | null = null;
  return () => {
    const pass: Pass =
      before === null
        ? draw()
        : { configurations: before.configurations.toReversed(), trajectories: before.trajectories.toReversed() };
    before = before === null ? pass : null;
    return pass;
  };
}

/** The judged pair as drawn, next to each other; any other configuration before or after them. */
function besideOneAnother(
  pass: Pass,
  [baseline, candidate]: readonly string[],
  random: Pick<SeededRandom, "uniform">,
): Pass {
  const judged = pass.configurations.filter((name) => name === baseline || name === candidate);
  const others = pass.configurations.filter((name) => !judged.includes(name));
  const first = random.uniform() < 0.5;
  return { ...pass, configurations: first ? [...others, ...judged] : [...judged, ...others] };
}

/** Every order alike likely (R. A. Fisher, F. Yates, Statistical Tables (1938), example 12). */
function shuffled<T>(items: readonly T[], { uniform }: Pick<SeededRandom, "uniform">): T[] {
  const order = [...items];
  for (let i = order.length - 1; i > 0; i--) {
    const j = Math.floor(uniform() * (i + 1));
    [order[i], order[j]] = [order[j]!, order[i]!];
  }
  return order;
}
