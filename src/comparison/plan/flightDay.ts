import type { Campaign } from "../../contract/campaign.ts";
import type { FlightDay, Plan, TestCard } from "../../contract/plan.ts";
import { defaultSettings, type Settings } from "../../contract/settings.ts";
import { CounterpoiseError } from "../../foundation/errors.ts";
import { seededRandom } from "../../numeric/seededRandom.ts";
import { placesLater } from "../plannedError.ts";
import { leastAttainable } from "./detectableDifference.ts";
import { flightOrder, type PlannedFlight } from "./flightOrder.ts";
import { spreadOverBlocks } from "./flownCell.ts";
import { runsCsv } from "./forecast.ts";
import { captureLogs, newBlocks, newRuns } from "./newNames.ts";
import { checkWish, closestPair } from "./planDesigns.ts";

/** What is to be flown; where nothing is said, what the plan proposes. */
export interface FlightDayWish {
  /** of every configuration on every trajectory, all to be flown */
  readonly runsPerConfiguration?: number;
  readonly blocks?: number;
  /** the order's, 0 to 2^32 - 1 */
  readonly seed: number;
  /** fly the campaign's sham beside the judged pair */
  readonly sham: boolean;
  /** default all */
  readonly trajectories?: readonly string[];
  /** ids, logs and blocks that are taken, besides the campaign's own */
  readonly flownIds: readonly string[];
  readonly flownLogs?: readonly string[];
  readonly flownBlocks?: readonly string[];
}

/**
 * A day (or days) of flights in a randomised, blocked, mirrored order (`flightOrder`), with static captures first and last in
 * each block, packs that all configurations share alike, names that nothing bears yet, and the table of runs that a manifest
 * reads. The same seed gives the same order.
 *
 * `refit`: the arm is taken off and put on as the flight's configuration asks: at the first flight of a block, where the
 * configuration changes, and before the second flight of the A/A pair. That pair are the two baseline flights of one
 * trajectory that are flown closest together in the first block that has two, else of the whole order: what they differ by is
 * what no difference looks like, the mounting included. They count as any other run.
 *
 * `later` is 0 for even numbers of runs, and 1/runs or -1/runs for odd ones. `arrangements` and `p_least` are those of a
 * single trajectory's cells.
 *
 * @param plan      for what the wish leaves open
 * @param settings  how much a pack and a day hold
 * @throws CounterpoiseError  code `not-a-plan`: fewer than 2 runs, more blocks than runs, no or an unknown trajectory, more
 *   flights than a day holds, a name that a table of runs cannot hold; `no-sham`: none is declared; `not-a-seed`
 */
export function flightDay(
  campaign: Campaign,
  plan: Pick<Plan, "runs_to_fly" | "blocks">,
  wish: FlightDayWish,
  settings: Pick<Settings, "plan_flights_per_pack" | "plan_most_flights"> = defaultSettings,
): FlightDay {
  const runs = wish.runsPerConfiguration ?? plan.runs_to_fly;
  const blocks = wish.blocks ?? Math.min(plan.blocks, runs);
  checkWish({ runs, blocks });
  const configurations = configurationsOf(campaign, wish.sham);
  const trajectories = trajectoriesOf(campaign, wish.trajectories);
  const count = runs * configurations.length * trajectories.length;
  if (count > settings.plan_most_flights) {
    throw new CounterpoiseError(
      "not-a-plan",
      `found ${count} flights (${runs} runs x ${configurations.length} configurations x ${trajectories.length} trajectories), expected at most ${settings.plan_most_flights}`,
      { hint: "plan fewer runs, or fewer trajectories at a time" },
    );
  }
  const perBlock = spreadOverBlocks(runs, blocks);
  const order = flightOrder(
    {
      configurations: configurations.map(({ name }) => name),
      trajectories,
      perBlock,
      flightsPerPack: settings.plan_flights_per_pack,
    },
    seededRandom(wish.seed),
  );
  const flights = namedFlights(campaign, order, wish);
  const { arrangements, leastP } = leastAttainable(perBlock);
  return {
    seed: wish.seed,
    blocks,
    runs_per_configuration: runs,
    configurations,
    trajectories,
    cards: cardsOf(campaign, flights),
    later: Object.fromEntries(trajectories.map((trajectory) => [trajectory, laterOf(campaign, trajectory, flights)])),
    arrangements,
    p_least: leastP,
    runs_csv: runsCsv(flights),
  };
}

function configurationsOf(campaign: Campaign, withSham: boolean): FlightDay["configurations"] {
  const one = (name: string, role: "baseline" | "candidate" | "sham"): FlightDay["configurations"][number] => ({
    name,
    label: campaign.configurations[name]?.label ?? name,
    role,
  });
  const pair = [one(campaign.baseline, "baseline"), one(campaign.candidate, "candidate")];
  if (!withSham) return pair;
  if (campaign.sham === null) {
    throw new CounterpoiseError("no-sham", "found no sham configuration in the campaign, expected one to plan with", {
      hint: "declare it in the manifest (`sham: NAME`): the counterweights' mass, mounted where it balances nothing",
    });
  }
  return [...pair, one(campaign.sham, "sham")];
}

function trajectoriesOf(campaign: Campaign, wanted?: readonly string[]): string[] {
  const known = Object.keys(campaign.trajectories);
  const found = [...new Set(wanted ?? known)];
  const unknown = found.find((name) => !known.includes(name));
  if (found.length > 0 && unknown === undefined) return found;
  const what = unknown === undefined ? "no trajectory" : `the trajectory ${JSON.stringify(unknown)}`;
  const expected = known.length === 0 ? "at least one in the manifest" : `one of ${known.join(", ")}`;
  throw new CounterpoiseError("not-a-plan", `found ${what}, expected ${expected}`);
}

/** A flight of the order with all that its card says. */
interface NamedFlight extends PlannedFlight {
  readonly id: string;
  readonly logs: Readonly<Record<string, string>>;
  readonly block: string;
  readonly battery: string;
  readonly flightOnBattery: number;
  readonly refit: boolean;
  readonly pair: boolean;
}

function namedFlights(
  campaign: Campaign,
  order: readonly (readonly PlannedFlight[])[],
  wish: FlightDayWish,
): NamedFlight[] {
  const names = newRuns(campaign, wish, order.flat().length);
  const blocks = newBlocks(campaign, wish.flownBlocks ?? [], order.length);
  const pair = closestPair(order, campaign.baseline);
  const onPack = new Map<number, number>();
  let place = 0;
  return order.flatMap((flights, b) =>
    flights.map((flight, i) => {
      const flightOnBattery = (onPack.get(flight.pack) ?? 0) + 1;
      onPack.set(flight.pack, flightOnBattery);
      const index = place++;
      return {
        ...flight,
        ...names[index]!,
        block: blocks[b]!,
        battery: `pack-${flight.pack}`,
        flightOnBattery,
        refit: flight.configuration !== flights[i - 1]?.configuration || index === pair?.[1],
        pair: pair?.includes(index) ?? false,
      };
    }),
  );
}

function cardsOf(campaign: Campaign, flights: readonly NamedFlight[]): TestCard[] {
  const capture = (log: string, block: string): Omit<TestCard, "place"> => ({
    kind: "static capture",
    id: null,
    log,
    block,
    configuration: null,
    trajectory: null,
    battery: null,
    flight_on_battery: null,
    refit: false,
    pair: false,
  });
  const cards = [...new Set(flights.map(({ block }) => block))].flatMap((block): Omit<TestCard, "place">[] => {
    const { before, after } = captureLogs(campaign, block);
    const own = flights
      .filter((flight) => flight.block === block)
      .map(
        (flight): Omit<TestCard, "place"> => ({
          kind: "flight",
          id: flight.id,
          log: Object.values(flight.logs).join(", "),
          block,
          configuration: flight.configuration,
          trajectory: flight.trajectory,
          battery: flight.battery,
          flight_on_battery: flight.flightOnBattery,
          refit: flight.refit,
          pair: flight.pair,
        }),
      );
    return [capture(before, block), ...own, capture(after, block)];
  });
  return cards.map((card, i) => ({ place: i + 1, ...card }));
}

/** Places are counted over all flights of the day: a drift does not wait for a trajectory's turn. */
function laterOf(campaign: Campaign, trajectory: string, flights: readonly NamedFlight[]): number {
  const own = flights.flatMap(({ block, configuration, trajectory: flown }, i) =>
    flown === trajectory && (configuration === campaign.baseline || configuration === campaign.candidate)
      ? [{ place: i + 1, block, candidate: configuration === campaign.candidate }]
      : [],
  );
  // both are flown on every trajectory
  return placesLater(own) ?? 0;
}
