import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { runValues } from "../../../src/comparison/cellRuns.ts";
import { permutationTest } from "../../../src/comparison/permutationTest.ts";
import { type FlightDayWish, flightDay } from "../../../src/comparison/plan/flightDay.ts";
import { placesLater } from "../../../src/comparison/plannedError.ts";
import type { Campaign, Trajectory } from "../../../src/contract/campaign.ts";
import { type FlightDay, flightDaySchema, type TestCard } from "../../../src/contract/plan.ts";
import { example, read } from "../../contract/manifest/support.ts";
import { inventedCampaign, inventedRuns } from "../../support/inventedCampaign.ts";

const hold: Trajectory = { shape: "hold", duration: 60 };

function campaignOf(trajectories: readonly string[], sham: string | null = null): Campaign {
  const plain = inventedCampaign([]);
  const ballast = { label: "Same mass at the centre", addedMass: 0.54, counterweights: [] };
  return {
    ...plain,
    sham,
    configurations: { ...plain.configurations, ...(sham === null ? {} : { [sham]: ballast }) },
    trajectories: Object.fromEntries(trajectories.map((name) => [name, hold])),
  };
}

const plan = { runs_to_fly: 4, blocks: 2 };
const plain: FlightDayWish = { seed: 1, sham: false, flownIds: [] };

function planned(trajectories: readonly string[], wish: Partial<FlightDayWish> = {}): FlightDay {
  return flightDay(campaignOf(trajectories, wish.sham ? "ballast" : null), plan, { ...plain, ...wish });
}

function flightsOf(day: FlightDay): TestCard[] {
  return day.cards.filter(({ kind }) => kind === "flight");
}

describe("what a steady drift fakes", () => {
  const sequences: [string, number][] = [
    ["AAABBB", 3],
    ["ABABAB", 1],
    ["ABBAAB", 1 / 3],
    ["ABBA", 0],
  ];

  // trade practice, 4.2: at 2 % a run 6.0 %, 2.0 %, 0.7 %, nothing
  test.each(sequences)("%s puts B %d places later", (sequence, places) => {
    const flights = [...sequence].map((name, i) => ({ place: i + 1, block: null, candidate: name === "B" }));
    expect(placesLater(flights)).toBeCloseTo(places, 12);
  });

  test("even numbers of passes in every block: nothing, on every trajectory, with a sham as without", () => {
    for (const [runs, blocks] of [
      [2, 1],
      [4, 1],
      [4, 2],
      [6, 3],
      [12, 3],
    ] as const) {
      for (const trajectories of [["orbit"], ["orbit", "reach"], ["orbit", "reach", "hold"]]) {
        for (const sham of [false, true]) {
          for (let seed = 0; seed < 10; seed++) {
            const { later } = planned(trajectories, { runsPerConfiguration: runs, blocks, seed, sham });
            expect(later).toEqual(Object.fromEntries(trajectories.map((name) => [name, 0])));
          }
        }
      }
    }
  });
});

const anyWish = fc
  .record({
    runs: fc.integer({ min: 2, max: 12 }),
    blocks: fc.integer({ min: 1, max: 12 }),
    trajectories: fc.integer({ min: 1, max: 5 }),
    sham: fc.boolean(),
    seed: fc.integer({ min: 0, max: 0xffffffff }),
  })
  .map(({ blocks, ...wish }) => ({ ...wish, blocks: Math.min(blocks, wish.runs) }));

test("any wish: equal counts in every block and on every pack, no name twice, nothing to fake but 1 place over odd runs", () => {
  fc.assert(
    fc.property(anyWish, ({ runs, blocks, trajectories: count, sham, seed }) => {
      const trajectories = ["orbit", "reach", "hold", "wall", "roof"].slice(0, count);
      const day = planned(trajectories, { runsPerConfiguration: runs, blocks, sham, seed });
      flightDaySchema.parse(day);
      const flights = flightsOf(day);
      const names = day.configurations.map(({ name }) => name);
      expect(flights).toHaveLength(runs * names.length * count);
      expect(day.cards.map(({ place }) => place)).toEqual(day.cards.map((_, i) => i + 1));

      const tally = (of: (card: TestCard) => string): Map<string, number> => {
        const counts = new Map<string, number>();
        for (const card of flights) counts.set(of(card), (counts.get(of(card)) ?? 0) + 1);
        return counts;
      };
      const inBlocks = tally(({ block, configuration, trajectory }) => `${block} ${trajectory} ${configuration}`);
      const onPacks = tally(({ battery, configuration, trajectory }) => `${battery} ${trajectory} ${configuration}`);
      const blockNames = [...new Set(flights.map(({ block }) => block))];
      expect(blockNames).toHaveLength(blocks);
      const ofBlocks: number[] = [];
      for (const trajectory of trajectories) {
        for (const block of blockNames) {
          const own = names.map((name) => inBlocks.get(`${block} ${trajectory} ${name}`));
          expect(new Set(own).size).toBe(1);
          ofBlocks.push(own[0]!);
        }
        for (const battery of new Set(flights.map((card) => card.battery))) {
          expect(new Set(names.map((name) => onPacks.get(`${battery} ${trajectory} ${name}`))).size).toBe(1);
        }
      }
      expect(Math.max(...ofBlocks) - Math.min(...ofBlocks)).toBeLessThanOrEqual(1);
      // a pack holds 4 flights, stays in its block, and its flights are counted
      for (const battery of new Set(flights.map((card) => card.battery))) {
        const own = flights.filter((card) => card.battery === battery);
        expect(own.map((card) => card.flight_on_battery)).toEqual(own.map((_, i) => i + 1));
        expect(own.length).toBeLessThanOrEqual(4);
        expect(new Set(own.map(({ block }) => block)).size).toBe(1);
      }

      const logs = day.cards.map(({ log }) => log);
      expect(new Set(logs).size).toBe(logs.length);
      expect(new Set(flights.map(({ id }) => id)).size).toBe(flights.length);

      for (const later of Object.values(day.later)) {
        if (runs % 2 === 0) expect(later).toBe(0);
        else expect(Math.abs(later)).toBeCloseTo(1 / runs, 12);
      }
    }),
    { seed: 41, numRuns: 300 },
  );
});

test("any wish: the arm is rebuilt where a configuration follows another, at each block's first flight, and within the A/A pair", () => {
  fc.assert(
    fc.property(anyWish, ({ runs, blocks, trajectories: count, sham, seed }) => {
      const trajectories = ["orbit", "reach", "hold", "wall", "roof"].slice(0, count);
      const day = planned(trajectories, { runsPerConfiguration: runs, blocks, sham, seed });
      const flights = flightsOf(day);
      const pair = flights.filter((card) => card.pair);
      expect(pair).toHaveLength(2);
      const [first, second] = pair as [TestCard, TestCard];
      expect([first.configuration, second.configuration]).toEqual(["bare", "bare"]);
      expect(second.trajectory).toBe(first.trajectory);
      expect(second.refit).toBe(true);
      // the first block holds as many as any: two where one does
      if (runs > blocks) expect([first.block, second.block]).toEqual([flights[0]!.block, flights[0]!.block]);
      for (const [i, card] of flights.entries()) {
        const before = flights[i - 1];
        const follows = before?.configuration !== card.configuration || before?.block !== card.block;
        expect(card.refit).toBe(follows || card === second);
      }
      // captures first and last in each block, and nowhere else
      for (const block of new Set(day.cards.map((card) => card.block))) {
        const own = day.cards.filter((card) => card.block === block);
        expect(own.map(({ kind }) => kind === "static capture")).toEqual(
          own.map((_, i) => i === 0 || i === own.length - 1),
        );
      }
    }),
    { seed: 42, numRuns: 200 },
  );
});

test("no two baseline flights of a trajectory lie closer than the A/A pair", () => {
  for (let seed = 0; seed < 50; seed++) {
    const flights = flightsOf(planned(["orbit", "reach"], { seed })).slice(0, 8);
    const places = (trajectory: string): number[] =>
      flights.flatMap((card, i) => (card.configuration === "bare" && card.trajectory === trajectory ? [i] : []));
    const apart = ["orbit", "reach"].map((name) => places(name)[1]! - places(name)[0]!);
    const pair = flights.flatMap((card, i) => (card.pair ? [i] : []));
    expect(pair[1]! - pair[0]!).toBe(Math.min(...apart));
  }
});

describe("chance", () => {
  test("the same seed gives the same day, another seed another", () => {
    expect(planned(["orbit", "reach"])).toEqual(planned(["orbit", "reach"]));
    const days = Array.from({ length: 20 }, (_, seed) => JSON.stringify(planned(["orbit", "reach"], { seed }).cards));
    // 2 orders of the configurations times 2 of the trajectories are drawn, once for both blocks
    expect(new Set(days).size).toBe(4);
  });

  test.each([false, true])("each configuration begins a block equally often, each trajectory too (sham %s)", (sham) => {
    const seeds = 2000;
    const firsts = new Map<string, number>();
    for (let seed = 0; seed < seeds; seed++) {
      const day = planned(["orbit", "reach"], { seed, sham, runsPerConfiguration: 3, blocks: 1 });
      const { configuration, trajectory } = flightsOf(day)[0]!;
      for (const name of [configuration!, trajectory!]) firsts.set(name, (firsts.get(name) ?? 0) + 1);
    }
    const share = (name: string, expected: number): void => {
      // four standard errors of a share
      const error = Math.sqrt((expected * (1 - expected)) / seeds);
      expect(Math.abs((firsts.get(name) ?? 0) / seeds - expected)).toBeLessThan(4 * error);
    };
    for (const name of sham ? ["bare", "weighted", "ballast"] : ["bare", "weighted"]) share(name, sham ? 1 / 3 : 1 / 2);
    for (const name of ["orbit", "reach"]) share(name, 1 / 2);
  });

  test("what one mirrored pair begins with, the next ends with", () => {
    for (let seed = 0; seed < 20; seed++) {
      const letters = flightsOf(planned(["orbit"], { seed }))
        .map(({ configuration }) => (configuration === "bare" ? "A" : "B"))
        .join("");
      expect(["ABBABAAB", "BAABABBA"]).toContain(letters);
    }
  });
});

test("arrangements and least p are those that the permutation test will count", () => {
  for (const [runsPerConfiguration, blocks] of [
    [4, 1],
    [5, 2],
    [6, 3],
    [7, 3],
  ] as const) {
    const day = planned(["orbit"], { runsPerConfiguration, blocks });
    const runs = runValues(
      flightsOf(day).map(({ place, block, configuration }) => ({
        value: Math.sqrt(place),
        block,
        candidate: configuration === "weighted",
      })),
    );
    const options = { exactUpTo: 100_000, drawn: 20_000, seed: 1 };
    const tested = permutationTest(runs, blocks > 1 ? "blocked" : "welch", options);
    expect([day.arrangements, day.p_least]).toEqual([tested.arrangements, tested.leastP]);
  }
});

describe("names", () => {
  test("flights and blocks go on where those flown end", () => {
    const day = planned(["orbit"], {
      flownIds: ["flight-01", "flight-19", "warm-up"],
      flownLogs: ["logs/flight-20.bag", "old.ulg"],
      flownBlocks: ["day1", "day2"],
    });
    expect(day.cards[0]!.log).toBe("static-before-day3.bag");
    expect(day.cards.at(-1)!.log).toBe("static-after-day4.bag");
    expect(flightsOf(day)[0]).toMatchObject({ id: "flight-21", log: "flight-21.bag", block: "day3" });
  });

  test.each([
    [[], ["next-1", "next-2"]],
    [
      ["morning", "evening"],
      ["next-1", "next-2"],
    ],
    [
      ["next-1", "next-2"],
      ["next-3", "next-4"],
    ],
    [["day09"], ["day10", "day11"]],
    [
      ["day12", "day3"],
      ["day13", "day14"],
    ],
    [
      ["day1", "hall7"],
      ["hall8", "hall9"],
    ],
    [["hall: a/b 1"], ["next-1", "next-2"]],
    [
      ["2025-10-14", "2025-10-31"],
      ["next-1", "next-2"],
    ],
  ])("after blocks %j come %j", (flownBlocks, expected) => {
    const day = planned(["orbit"], { flownBlocks });
    expect([...new Set(day.cards.map(({ block }) => block))]).toEqual(expected);
  });

  test.each([
    [["flight-99"], "flight-100"],
    [["flight-007"], "flight-008"],
    [["flight-12", "flight-3b"], "flight-13"],
    [["flight-20251014120000"], "flight-01"],
    [[], "flight-01"],
  ])("after ids %j comes %s", (flownIds, expected) => {
    expect(flightsOf(planned(["orbit"], { flownIds }))[0]!.id).toBe(expected);
  });

  test("logs count where the ids are called otherwise, and their folder and ending are kept", () => {
    const runs = inventedRuns([{ configuration: "bare", id: "calm", block: "morning", value: 1 }]);
    const campaign = inventedCampaign(runs);
    expect(flightsOf(flightDay(campaign, plan, plain))[0]).toMatchObject({ id: "flight-01", block: "next-1" });
    const logs = { "": ["logs/flight-20.mcap"] };
    const withLog = { ...campaign, runs: campaign.runs.map((run) => ({ ...run, logs })) };
    expect(flightsOf(flightDay(withLog, plan, plain))[0]).toMatchObject({
      id: "flight-21",
      log: "logs/flight-21.mcap",
    });
  });

  test("what the campaign holds is flown, told or not", () => {
    const runs = inventedRuns([{ configuration: "bare", id: "flight-09", block: "day1", value: 1 }]);
    const day = flightDay(inventedCampaign(runs), plan, plain);
    expect(flightsOf(day)[0]).toMatchObject({ id: "flight-10", block: "day2" });
  });
});

describe("the table of runs", () => {
  const manifest = (text: string): string => `${text.slice(0, text.indexOf("runs:\n"))}runs: runs.csv\n`;

  test("is what a manifest reads: the same runs, in the same order", async () => {
    const campaign = await read(example);
    const day = flightDay(campaign, plan, { ...plain, runsPerConfiguration: 3, sham: true, flownBlocks: ["day1"] });
    const found = await read(manifest(example), { "runs.csv": day.runs_csv });
    expect(found.runs).toEqual(
      flightsOf(day).map(({ id, log, configuration, trajectory, block, battery, pair, refit }) => ({
        id,
        logs: { "": [log] },
        configuration,
        trajectory,
        block,
        span: null,
        battery,
        takeoffMass: null,
        started: null,
        notes: [pair ? "A/A pair" : "", refit ? "refit before" : ""].filter(Boolean).join("; ") || null,
        outcome: "completed",
        exclude: null,
      })),
    );
    expect(day.runs_csv.split("\n")[0]).toBe(
      "id,log,configuration,trajectory,block,battery,takeoff_mass,outcome,notes",
    );
  });

  test("names with commas and quotes come back as they are", async () => {
    const odd = manifest(example).replaceAll("weighted", '"two, \\"small\\" ones"').replaceAll("orbit", '"a,b"');
    const campaign = await read(odd, { "runs.csv": 'log,configuration,trajectory\na.bag,bare,"a,b"\n' });
    const found = await read(odd, { "runs.csv": flightDay(campaign, plan, plain).runs_csv });
    expect(found.runs.filter(({ configuration }) => configuration === 'two, "small" ones')).toHaveLength(16);
    expect(found.runs.filter(({ trajectory }) => trajectory === "a,b")).toHaveLength(8);
  });
});

describe("what it refuses", () => {
  const refused: [Partial<FlightDayWish>, string, RegExp][] = [
    [
      { runsPerConfiguration: 1 },
      "not-a-plan",
      /found 1 runs per configuration, expected a whole number of at least 2/,
    ],
    [{ runsPerConfiguration: 2.5 }, "not-a-plan", /found 2.5 runs/],
    [{ runsPerConfiguration: Number.NaN }, "not-a-plan", /found NaN runs/],
    [{ blocks: 0 }, "not-a-plan", /found 0 blocks/],
    [{ blocks: 5 }, "not-a-plan", /found 5 blocks for 4 runs per configuration, expected at most as many blocks/],
    [{ runsPerConfiguration: 251, blocks: 1 }, "not-a-plan", /found 502 flights .251 runs x 2 .* at most 500/],
    [{ sham: true }, "no-sham", /found no sham/],
    [{ seed: -1 }, "not-a-seed", /found -1/],
  ];
  test.each(refused)("%o", (change, code, message) => {
    const attempt = (): FlightDay => flightDay(campaignOf(["orbit"]), plan, { ...plain, ...change });
    expect(attempt).toThrow(message);
    expect(attempt).toThrow(expect.objectContaining({ code }));
  });

  test("a trajectory that the campaign does not have", () => {
    expect(() => planned(["orbit"], { trajectories: ["nowhere"] })).toThrow(
      'found the trajectory "nowhere", expected one of orbit',
    );
    expect(planned(["orbit", "reach"], { trajectories: ["reach"] }).trajectories).toEqual(["reach"]);
  });

  test("what is not wished for is as the plan has it", () => {
    expect(planned(["orbit"])).toMatchObject({ runs_per_configuration: 4, blocks: 2 });
    expect(planned(["orbit"], { runsPerConfiguration: 7, blocks: 3 })).toMatchObject({
      runs_per_configuration: 7,
      blocks: 3,
    });
  });

  test("a campaign without a trajectory, and a name that a table cannot hold", () => {
    expect(() => planned([])).toThrow(expect.objectContaining({ code: "not-a-plan" }));
    expect(() => planned(["=orbit"])).toThrow(/found the name "=orbit", expected one that a table of runs can hold/);
  });
});
