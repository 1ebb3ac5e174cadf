import { describe, expect, test } from "vitest";
import { runValues } from "../../src/comparison/cellRuns.ts";
import { compareCampaign } from "../../src/comparison/compareCampaign.ts";
import { confoundedTrajectories, describeConfounding } from "../../src/comparison/confoundedTrajectories.ts";
import { type Cell, cellSchema } from "../../src/contract/cell.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { NotFiniteError } from "../../src/foundation/errors.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { type InventedRun, inventedCampaign, inventedRuns } from "../support/inventedCampaign.ts";

/** All cells of a campaign of these runs, each of them sound: it keeps the schema, which holds no NaN and no infinity. */
function judge(wanted: readonly InventedRun[], changes: Parameters<typeof inventedCampaign>[1] = {}): Cell[] {
  const runs = inventedRuns(wanted);
  const exclude = Object.fromEntries(
    wanted.flatMap((run, i) => (run.exclude ? [[run.id ?? `run-${i + 1}`, run.exclude]] : [])),
  );
  const cells = compareCampaign(inventedCampaign(runs, { exclude, ...changes }), runs, defaultSettings);
  for (const cell of cells) cellSchema.parse(cell);
  const numbers = JSON.stringify(cells, (_, value) => {
    if (typeof value === "number" && !Number.isFinite(value)) throw new Error(`found ${value} in a cell`);
    return value;
  });
  expect(numbers.length).toBeGreaterThan(0);
  return cells;
}

const family = (cells: readonly Cell[]): Cell[] => cells.filter(({ in_family }) => in_family);

const runs = (configuration: string, values: readonly number[], more: Partial<InventedRun> = {}): InventedRun[] =>
  values.map((value) => ({ configuration, value, ...more }));

const millimetres = (...values: number[]): number[] => values.map((value) => value / 1000);

/** nothing tested, nothing claimed */
const untested = {
  se: null,
  df: null,
  ci95: null,
  ci90: null,
  p: null,
  p_family: 1,
  p_permutation: null,
  p_least: null,
  arrangements: null,
  exact: null,
  p_equivalence: null,
  verdict: "too few runs",
  verdict_all_runs: "too few runs",
  fragile: [],
  runs_needed: null,
} as const;

describe("too few runs", () => {
  // 3 v 3 runs, but the difference is taken within the two blocks that hold both: 2 v 2 runs make it
  test("within blocks only the runs of blocks that hold both configurations count", () => {
    const cells = judge(
      [
        ...runs("bare", millimetres(5), { block: "a" }),
        ...runs("weighted", millimetres(4.99), { block: "a" }),
        ...runs("bare", millimetres(6), { block: "b" }),
        ...runs("weighted", millimetres(6), { block: "b" }),
        ...runs("bare", millimetres(5.5), { block: "c" }),
        ...runs("weighted", millimetres(9), { block: "d" }),
      ],
      { smallestDifference: { vehicle: 0.0005, effector: 0.0005, arm: null } },
    );
    for (const cell of family(cells)) {
      expect(cell).toMatchObject({ method: "blocked", verdict: "too few runs", p_family: 1, fragile: [] });
      expect([cell.baseline.n, cell.candidate.n]).toEqual([3, 3]);
    }
  });

  test("no run at all: the family stands as declared, every cell empty, nothing exploratory", () => {
    const cells = judge([]);
    expect(cells).toHaveLength(6);
    for (const cell of cells) {
      const empty = { n: 0, mean: null, sd: null, values: [], runs: [] };
      expect(cell).toMatchObject({
        ...untested,
        baseline: empty,
        candidate: empty,
        difference: null,
        ratio: null,
        pair: null,
      });
    }
  });

  test("one configuration only", () => {
    for (const cell of family(judge(runs("bare", millimetres(4, 5, 4.4, 4.7, 5.1, 4.2))))) {
      expect(cell).toMatchObject({ ...untested, difference: null, ratio: null, candidate: { n: 0, mean: null } });
      expect(cell.baseline.mean).toBeCloseTo(0.0274 / 6, 12);
      // six like runs still say how far two of them may lie apart
      expect(cell.pair?.df).toBe(5);
    }
  });

  test("a third configuration is no member of the pair", () => {
    const cells = family(judge([...runs("bare", millimetres(4, 5, 6)), ...runs("dummy", millimetres(1, 1.1, 1.2))]));
    for (const cell of cells) expect(cell).toMatchObject({ ...untested, candidate: { n: 0 } });
  });

  test("1 v 1: the difference stands, with nothing to tell how far it may be off", () => {
    for (const cell of family(judge([...runs("bare", [0.004]), ...runs("weighted", [0.003])]))) {
      expect(cell).toMatchObject({
        ...untested,
        baseline: { n: 1, sd: null },
        candidate: { n: 1, sd: null },
        pair: null,
      });
      expect(cell.difference).toBeCloseTo(-0.001, 15);
      expect(cell.ratio).toBeCloseTo(-0.25, 12);
    }
  });

  test("2 v 2, however far apart: an interval, but no verdict, and p enters the family as 1", () => {
    const cells = family(judge([...runs("bare", [0.004, 0.0041]), ...runs("weighted", [0.001, 0.0011])]));
    for (const cell of cells) {
      expect(cell).toMatchObject({ verdict: "too few runs", p_family: 1, fragile: [], arrangements: 6, exact: true });
      expect(cell.p).toBeLessThan(0.01);
      expect(cell.ci95?.[1]).toBeLessThan(0);
      // 2 of the 6 ways of labelling four runs
      expect(cell.p_least).toBeCloseTo(1 / 3, 12);
    }
  });

  test("3 v 3 far apart: a verdict, fragile twice over", () => {
    const cells = family(
      judge([...runs("bare", millimetres(9, 9.1, 9.2)), ...runs("weighted", millimetres(1, 1.1, 1.2))]),
    );
    for (const { verdict, fragile, p_permutation } of cells) {
      expect(verdict).toBe("steadier");
      expect(p_permutation).toBeCloseTo(0.1, 12);
      expect(fragile).toHaveLength(2);
      expect(fragile[0]).toContain('it would be "too few runs"');
      expect(fragile[1]).toContain("permutation p is 0.10");
    }
  });

  test("5 v 0 and 5 v 1", () => {
    const five = runs("bare", millimetres(4, 5, 4.4, 4.7, 5.1));
    for (const cell of family(judge(five)))
      expect(cell).toMatchObject({ ...untested, difference: null, candidate: { n: 0 } });
    for (const cell of family(judge([...five, ...runs("weighted", [0.001])]))) {
      expect(cell).toMatchObject({ ...untested, candidate: { n: 1 } });
      expect(cell.difference).toBeCloseTo(-0.00364, 12);
    }
  });

  test("all runs unusable", () => {
    const lost = [
      ...runs("bare", [0.004, 0.005, 0.006], { unusable: true }),
      ...runs("weighted", [0.001], { unusable: true }),
    ];
    const cells = judge(lost);
    expect(cells).toHaveLength(6);
    for (const cell of cells) expect(cell).toMatchObject({ ...untested, baseline: { n: 0 }, candidate: { n: 0 } });
  });

  test("a subject that only some runs have counts with those", () => {
    const all = [
      ...runs("bare", millimetres(4, 5, 4.4), { subjects: ["vehicle"] }),
      ...runs("bare", millimetres(4.1, 4.6)),
      ...runs("weighted", millimetres(2, 2.2, 2.1)),
    ];
    const cells = judge(all);
    for (const cell of cells.filter(({ axis }) => axis !== "norm"))
      expect(cell.baseline.n).toBe(cell.subject === "vehicle" ? 5 : 2);
    expect(family(cells).map(({ verdict }) => verdict)).toEqual([
      ...Array(3).fill("steadier"),
      ...Array(3).fill("too few runs"),
    ]);
  });
});

/** the runs are enough, but do not differ among themselves */
const still = { ...untested, verdict: "no spread", verdict_all_runs: "no spread" } as const;

describe("spread", () => {
  test("identical values in both configurations have a word of their own: they are no replicates", () => {
    for (const cell of family(
      judge([...runs("bare", [0.004, 0.004, 0.004]), ...runs("weighted", [0.003, 0.003, 0.003])]),
    )) {
      expect(cell).toMatchObject({ ...still, pair: { df: 4 }, baseline: { sd: 0 } });
      // the mean of three times 0.004 is rounded
      expect(cell.pair!.limit).toBeLessThan(1e-15);
      expect(cell.difference).toBeCloseTo(-0.001, 12);
    }
  });

  test("values that differ by rounding only have no spread either", () => {
    const third = 0.1 + 0.2;
    const alike = [third, 0.3, 0.3 * 3 * (1 / 3)].map((value) => value / 100);
    for (const cell of family(judge([...runs("bare", alike), ...runs("weighted", [0.002, 0.002, 0.002])]))) {
      expect(cell).toMatchObject(still);
    }
  });

  test("identical values in one configuration: Welch's on the other's spread and its degrees of freedom", () => {
    const cells = family(
      judge([...runs("bare", [0.004, 0.004, 0.004, 0.004]), ...runs("weighted", millimetres(3, 3.1, 2.9))]),
    );
    for (const cell of cells) {
      // sd 0.1 mm, three runs: se = 0.1/root 3, df = 2
      expect(cell.se).toBeCloseTo(0.0001 / Math.sqrt(3), 12);
      expect(cell.df).toBeCloseTo(2, 9);
      expect(cell.baseline.sd).toBe(0);
    }
  });

  test("values of zero", () => {
    for (const cell of family(judge([...runs("bare", [0, 0, 0]), ...runs("weighted", [0, 0, 0])]))) {
      expect(cell).toMatchObject({ ...still, difference: 0, ratio: null });
    }
    // a baseline of zero has no ratio
    for (const cell of family(judge([...runs("bare", [0, 0, 0]), ...runs("weighted", millimetres(1, 2, 3))]))) {
      expect(cell.ratio).toBeNull();
      expect(cell.difference).toBeCloseTo(0.002, 15);
    }
  });

  test.each([1e3, 1e6])("a spread of millimetres on %d m is judged as without that offset", (offset) => {
    const at = (base: number) => [
      ...runs(
        "bare",
        millimetres(4, 5, 4.4, 4.7).map((value) => base + value),
      ),
      ...runs(
        "weighted",
        millimetres(3, 3.5, 3.9, 3.1).map((value) => base + value),
      ),
    ];
    const [plain, lifted] = [family(judge(at(0)))[0]!, family(judge(at(offset)))[0]!];
    // offset + 4 mm is rounded to 2e-16 of the offset: one part in 1e7 of the differences at 1e6
    for (const name of ["difference", "se", "df", "p"] as const) {
      expect(lifted[name]! / plain[name]!, name).toBeCloseTo(1, 5);
    }
    expect(lifted).toMatchObject({
      p_permutation: plain.p_permutation,
      p_least: plain.p_least,
      verdict: plain.verdict,
    });
    expect(plain.p_permutation).toBeCloseTo(2 / 70, 12);
  });

  test("the most extreme arrangement has its mirror image, whatever the offset", () => {
    for (const offset of [0, 1, 1e3, 1e6]) {
      const values = millimetres(4.13, 5.29, 4.41, 3.02, 3.37, 2.95).map((value) => offset + value);
      const cell = family(judge([...runs("bare", values.slice(0, 3)), ...runs("weighted", values.slice(3))]))[0]!;
      expect(cell.p_permutation, `offset ${offset}`).toBe(0.1);
    }
  });

  test("NaN is refused, not skipped", () => {
    expect(() => runValues([{ value: Number.NaN, candidate: false, block: null }])).toThrow(NotFiniteError);
    expect(() => judge(runs("bare", [0.004, Number.POSITIVE_INFINITY]))).toThrow(NotFiniteError);
  });
});

describe("blocks", () => {
  const day = (block: string, bare: readonly number[], weighted: readonly number[]): InventedRun[] => [
    ...runs("bare", bare, { block }),
    ...runs("weighted", weighted, { block }),
  ];
  const first = day("day 1", millimetres(4, 4.3), millimetres(3, 3.4));
  const second = day("day 2", millimetres(6, 6.2), millimetres(5.1, 5.2));

  test("a block that holds one configuration says nothing of the difference", () => {
    const two = family(judge([...first, ...second]))[0]!;
    const three = family(judge([...first, ...second, ...day("day 3", millimetres(20, 25), [])]))[0]!;
    for (const cell of [two, three]) expect(cell.method).toBe("blocked");
    expect(three.baseline.n).toBe(6);
    for (const name of ["difference", "se", "df", "p", "p_permutation", "p_least", "arrangements"] as const) {
      expect(three[name], name).toBe(two[name]);
    }
  });

  test("a single block with both is not enough for a difference within blocks: Welch's", () => {
    const cell = family(judge([...first, ...day("day 2", millimetres(6, 6.2), [])]))[0]!;
    expect(cell.method).toBe("welch");
    // only the four runs of day 1 change their labels
    expect(cell.arrangements).toBe(6);
  });

  const apart = [...day("day 1", millimetres(4, 4.3, 4.1), []), ...day("day 2", [], millimetres(1, 1.4, 1.2))];

  test("configurations flown in separate blocks: Welch's, one arrangement, and any claim is fragile", () => {
    for (const cell of family(judge(apart))) {
      expect(cell).toMatchObject({
        method: "welch",
        arrangements: 1,
        p_permutation: 1,
        p_least: 1,
        verdict: "steadier",
      });
      expect(cell.fragile.some((reason) => reason.includes("permutation p is 1.0"))).toBe(true);
    }
  });

  test("they are found confounded, with the blocks named", () => {
    const flown = inventedRuns(apart);
    const campaign = inventedCampaign(flown);
    const [found, ...others] = confoundedTrajectories(campaign, flown);
    expect(others).toEqual([]);
    expect(found).toEqual({
      trajectory: "orbit",
      sharedBlocks: [],
      baselineBlocks: ["day 1"],
      candidateBlocks: ["day 2"],
    });
    const check = describeConfounding(campaign, found!);
    expect(check).toMatchObject({ code: "confounded", severity: "doubt" });
    expect(check.message).toContain("bare in day 1, weighted in day 2");
  });

  test("one block that holds both does not help where other blocks hold one: they enter Welch's difference", () => {
    const flown = inventedRuns([...apart, ...day("day 1", [], [0.001])]);
    const campaign = inventedCampaign(flown);
    const [found] = confoundedTrajectories(campaign, flown);
    expect(found).toEqual({
      trajectory: "orbit",
      sharedBlocks: ["day 1"],
      baselineBlocks: ["day 1"],
      candidateBlocks: ["day 2", "day 1"],
    });
    expect(describeConfounding(campaign, found!).message).toContain("only one block of orbit holds both");
  });

  test("a claim from confounded blocks is fragile, `no difference that matters` too", () => {
    const alike = [...day("day 1", millimetres(4, 4.1, 4.05), []), ...day("day 2", [], millimetres(4.02, 4.1, 3.98))];
    for (const { verdict, fragile } of family(judge(alike))) {
      expect(verdict).toBe("no difference that matters");
      expect(fragile).toContain("the configurations were flown in separate blocks, all or in part");
    }
  });

  test("nothing is confounded where two blocks hold both, where all is one block, or one configuration was not flown", () => {
    const shared = inventedRuns([...apart, ...day("day 1", [], [0.001]), ...day("day 2", [0.004], [])]);
    expect(confoundedTrajectories(inventedCampaign(shared), shared)).toEqual([]);
    const one = inventedRuns(apart.map((run) => ({ ...run, block: "day 1" })));
    expect(confoundedTrajectories(inventedCampaign(one), one)).toEqual([]);
    const half = inventedRuns(apart.filter(({ configuration }) => configuration === "bare"));
    expect(confoundedTrajectories(inventedCampaign(half), half)).toEqual([]);
    // no blocks declared: all runs share one
    const none = inventedRuns(apart.map((run) => ({ ...run, block: null })));
    expect(confoundedTrajectories(inventedCampaign(none), none)).toEqual([]);
  });

  test("a run without a block among runs with blocks stands in a block of its own", () => {
    const mixed = [...day("day 1", millimetres(4, 4.3, 4.1), []), ...runs("weighted", millimetres(1, 1.4, 1.2))];
    const flown = inventedRuns(mixed);
    expect(confoundedTrajectories(inventedCampaign(flown), flown)).toEqual([
      { trajectory: "orbit", sharedBlocks: [], baselineBlocks: ["day 1"], candidateBlocks: ["no block"] },
    ]);
  });
});

describe("what is declared", () => {
  const four = [...runs("bare", millimetres(9, 9.4, 9.1, 9.3)), ...runs("weighted", millimetres(3, 3.2, 3.1, 3.5))];

  test("no smallest difference: a verdict is possible, equivalence and runs needed are not", () => {
    const smallestDifference = { vehicle: null, effector: null, arm: null };
    const cells = family(judge(four, { smallestDifference }));
    expect(cells).toHaveLength(6);
    for (const cell of cells) {
      expect(cell).toMatchObject({
        verdict: "steadier",
        p_equivalence: null,
        runs_needed: null,
        smallest_difference: null,
      });
      expect(cell.ci90).not.toBeNull();
    }
  });

  test("no smallest difference: nothing is ever said not to matter", () => {
    const alike = [...runs("bare", millimetres(4, 4.001, 4.002)), ...runs("weighted", millimetres(4, 4.001, 4.002))];
    const smallestDifference = { vehicle: null, effector: null, arm: null };
    for (const cell of family(judge(alike, { smallestDifference }))) expect(cell.verdict).toBe("within the noise");
    for (const cell of family(judge(alike))) expect(cell.verdict).toBe("no difference that matters");
  });

  test("a smallest difference of one subject is that subject's alone", () => {
    const smallestDifference = { vehicle: 0.001, effector: null, arm: null };
    for (const cell of family(judge(four, { smallestDifference }))) {
      expect(cell.smallest_difference).toBe(cell.subject === "vehicle" ? 0.001 : null);
      expect(cell.p_equivalence === null).toBe(cell.subject !== "vehicle");
    }
  });

  test("a trajectory that no one flew is of the family, and weighs in Holm's p", () => {
    const flown = family(judge(four))[0]!;
    const trajectories = { ...inventedCampaign([]).trajectories, sweep: inventedCampaign([]).trajectories.orbit! };
    const cells = family(judge(four, { trajectories }));
    expect(cells).toHaveLength(12);
    expect(cells[0]!.p).toBe(flown.p);
    expect(cells[0]!.p_family! / flown.p_family!).toBeCloseTo(2, 9);
    for (const cell of cells.slice(6))
      expect(cell).toMatchObject({ trajectory: "sweep", ...untested, difference: null });
  });

  test("a hold has no cycles, so no member where the primary metric is the synchronous part", () => {
    const trajectories = { ...inventedCampaign([]).trajectories, hover: { shape: "hold", duration: 20 } as const };
    const cells = judge(four, { trajectories, primary: "synchronous" });
    expect(family(cells).map(({ trajectory }) => trajectory)).toEqual(Array(6).fill("orbit"));
  });

  test("without an effector in the signals the family is the vehicle's three axes", () => {
    const { effector_pose, effector_command, ...signals } = inventedCampaign([]).signals;
    expect(family(judge(four, { signals })).map(({ subject, axis }) => `${subject} ${axis}`)).toEqual([
      "vehicle x",
      "vehicle y",
      "vehicle z",
    ]);
  });

  test("exploratory cells carry no verdict: the other measures, and the arm in every one", () => {
    const cells = judge(four);
    const rest = cells.filter(({ in_family, axis }) => !in_family && axis !== "norm");
    // rms of the arm; range and sd of three subjects; three axes each; nothing synchronous in these runs
    expect(rest).toHaveLength(3 + 2 * 9);
    for (const cell of rest) {
      expect(cell).toMatchObject({
        verdict: null,
        verdict_all_runs: null,
        p_family: null,
        fragile: [],
        runs_needed: null,
      });
      expect(cell.p).toBeLessThan(0.001);
    }
  });
});

describe("runs that a person excluded", () => {
  const bare = runs("bare", millimetres(9, 9.4, 9.1, 9.3));
  const weighted = runs("weighted", millimetres(3, 3.2, 3.1, 3.5));
  const poor = { configuration: "weighted", value: 0.03, id: "poor" } as const;

  test("are put back for a second verdict, and the first is fragile where the two differ", () => {
    for (const cell of family(judge([...bare, ...weighted, { ...poor, exclude: "gust" }]))) {
      expect(cell).toMatchObject({ verdict: "steadier", verdict_all_runs: "within the noise", candidate: { n: 4 } });
      expect(cell.fragile.at(-1)).toBe('with the runs put back that a person excluded it would be "within the noise"');
    }
  });

  test("change nothing where the verdict holds with them as well", () => {
    for (const cell of family(judge([...bare, ...weighted, { ...poor, value: 0.0033, exclude: "gust" }]))) {
      expect(cell).toMatchObject({ verdict: "steadier", verdict_all_runs: "steadier", fragile: [] });
    }
  });

  test.each([
    ["aborted", { outcome: "aborted" }],
    ["unusable", { unusable: true }],
    ["aborted and excluded by hand", { outcome: "aborted", exclude: "gust" }],
    ["unusable and excluded by hand", { unusable: true, exclude: "gust" }],
  ] as const)("are not to be confused with those %s, which are never put back", (_, more) => {
    for (const cell of family(judge([...bare, ...weighted, { ...poor, ...more }]))) {
      expect(cell).toMatchObject({
        verdict: "steadier",
        verdict_all_runs: "steadier",
        fragile: [],
        candidate: { n: 4 },
      });
    }
  });

  test("may be what is missing: too few runs without them, within the noise with them, and no claim that could be fragile", () => {
    const more = [
      ...runs("bare", millimetres(5, 6, 5.5), { trajectory: "sweep" }),
      ...runs("weighted", millimetres(4.2, 5.8), { trajectory: "sweep" }),
    ];
    const all = [
      ...bare,
      ...weighted,
      ...more,
      { configuration: "weighted", trajectory: "sweep", value: 0.0051, id: "back", exclude: "gust" } as const,
    ];
    const sweep = family(judge(all)).filter(({ trajectory }) => trajectory === "sweep");
    for (const cell of sweep)
      expect(cell).toMatchObject({ verdict: "too few runs", verdict_all_runs: "within the noise", fragile: [] });
  });
});

describe("many runs", () => {
  const random = seededRandom(1000);
  const many = Array.from(
    { length: 1000 },
    (_, i): InventedRun => ({
      configuration: i % 2 === 0 ? "bare" : "weighted",
      block: `day ${1 + (Math.floor(i / 2) % 10)}`,
      value: ({ axis }) => 0.006 * Math.exp(0.1 * random.normal()) * (i % 2 === 1 && axis === "x" ? 0.9 : 1),
    }),
  );

  test("a thousand, within blocks and without, give sound cells", () => {
    for (const wanted of [many, many.map((run) => ({ ...run, block: null }))]) {
      const cells = family(judge(wanted));
      for (const cell of cells) {
        expect(cell).toMatchObject({ baseline: { n: 500 }, candidate: { n: 500 }, exact: false, arrangements: 20_000 });
        // a difference of 0.6 mm with a spread of 0.6 mm, 500 v 500: 16 standard errors; the others show none of 1.5 mm
        expect(cell.verdict).toBe("no difference that matters");
        expect(cell.p_permutation! < 0.05 || cell.axis !== "x").toBe(true);
        if (cell.axis === "x") expect(cell.p_permutation).toBe(1 / 20_001);
      }
    }
  });
});
