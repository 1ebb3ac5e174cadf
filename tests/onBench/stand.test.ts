import { describe, expect, test } from "vitest";
import { evaluateBench } from "../../src/bench/evaluateBench.ts";
import type { BenchRunDeclaration } from "../../src/contract/benchDeclaration.ts";
import type { BenchCheckCode, BenchEvaluation } from "../../src/contract/benchEvaluation.ts";
import { benchSchema } from "../../src/contract/benchEvaluation.ts";
import { leftHanded, type StandFault, upsideDown } from "../../src/simulation/benchFaults.ts";
import { describeWith } from "../support/available.ts";
import { type BenchSetUp, benchInput, cleanBench, evaluatedBench, stand } from "../support/simulatedBench.ts";

const small = { refits: 3, base: { ...stand, cycles: 8, sensor: { ...stand.sensor, rate: 100 } } } as const;
const codesOf = (found: BenchEvaluation): BenchCheckCode[] => [
  ...new Set([...found.checks, ...found.runs.flatMap(({ checks }) => checks)].map(({ code }) => code)),
];
const messages = (found: BenchEvaluation): string =>
  [...found.checks, ...found.runs.flatMap(({ checks }) => checks)].map(({ message }) => message).join("\n");
const claims = (found: BenchEvaluation): number =>
  found.cells.filter(({ verdict }) => verdict === "reduced" || verdict === "increased").length;

describe("a clean bench", () => {
  const found = evaluatedBench({ ...small, refits: 5 });

  test("shows what moves: from force, and from gravity's moment", () => {
    // truth: 850 g x 0.8 = 680 g; less 540 g x 1.07 = 102.2 g
    for (const [configuration, truth] of [
      ["bare", 0.68],
      ["weighted", 0.1022],
    ] as const)
      for (const from of ["force", "gravity moment"] as const) {
        const own = found.moving.find((one) => one.configuration === configuration && one.from === from)!;
        // masses scatter by 1 % from refit to refit: 7 g of 680, of the mean of five 3 g; three of those
        expect(Math.abs(own.value - truth)).toBeLessThan(0.012);
        expect(own.refits).toBe(5);
      }
  });

  test("keeps gravity and inertia of the moment apart", () => {
    const own = found.growth.find(({ channel, configuration }) => channel === "my" && configuration === "bare")!;
    // g u = 6.6685 N; beta = m z travel = 0.85 x -0.08 x 0.8 = -0.0544 kg m
    expect(Math.abs(own.gravity!.value / 6.6685 - 1)).toBeLessThan(0.02);
    expect(Math.abs(own.inertial!.value / -0.0544 - 1)).toBeLessThan(0.03);
    expect(own.exponent).toBeNull();
    const force = found.growth.find(({ channel, configuration }) => channel === "fx" && configuration === "bare")!;
    expect(force.exponent).toBeCloseTo(2, 1);
  });

  test("closes, reduces along the travel at each speed, and leaves nothing unchecked", () => {
    expect(found.closure.find(({ configuration }) => configuration === "bare")!.ratio).toBeCloseTo(1, 2);
    const cells = found.cells.filter(({ channel, harmonic }) => channel === "fx" && harmonic === 1);
    expect(cells.map(({ verdict }) => verdict)).toEqual(["reduced", "reduced", "reduced"]);
    // 1 - 102.2 / 680 = 0.8497
    for (const { reduction } of cells) expect(Math.abs(reduction! - 0.8497)).toBeLessThan(0.03);
    expect(found.unchecked).toEqual([]);
    expect(found.resonance[0]!.frequency).toBeCloseTo(31, 0);
  });

  test("is as its schema says", () => {
    expect(benchSchema.safeParse(JSON.parse(JSON.stringify(found))).error).toBeUndefined();
  });

  test("over-balance shows as a reduction above 1, a moment's at each speed another", () => {
    const moments = found.cells.filter(
      ({ channel, harmonic, speed }) => channel === "my" && harmonic === 1 && speed! > 0.1,
    );
    const reductions = moments.map(({ reduction }) => reduction!);
    expect(Math.max(...reductions) - Math.min(...reductions)).toBeGreaterThan(0.1);
    expect(Math.max(...reductions)).toBeGreaterThan(1);
  });
});

/** Findings of clean benches, by their seeds. */
const blamedOf = (seeds: readonly number[]): string[] =>
  seeds.flatMap((seed) => {
    const base = {
      ...small.base,
      sensor: { ...small.base.sensor, crossTalk: seed % 2 === 0 ? 0.02 : 0, serial: seed },
    };
    const trajectories: BenchSetUp["trajectories"] =
      seed % 3 === 0 ? { orbit: { shape: "circle", plane: "yz", radius: 0.06 } } : cleanBench.trajectories;
    const found = evaluatedBench({ ...small, base, seed, trajectories, creep: seed > 7 });
    return codesOf(found).map((code) => `${seed} ${code}`);
  });

test("no clean bench is blamed, with cross-talk within what is declared", () => {
  expect(blamedOf([2, 3, 8])).toEqual([]);
});
describeWith(["slow"], "ten clean benches", () => {
  test("are not blamed", () => {
    expect(blamedOf([1, 2, 3, 4, 5, 6, 7, 8, 9, 10])).toEqual([]);
  });
});

describe("what is wrong is named", () => {
  const withFault = (...everywhere: StandFault[]): Partial<BenchSetUp> => ({ ...small, creep: false, everywhere });
  const inRuns = (fault: StandFault): Partial<BenchSetUp> => ({ ...small, creep: false, faults: () => [fault] });
  const noMass = { knownMass: [], tap: false } as const;
  const rest = (before: number, after: number): Partial<BenchSetUp> => ({
    ...small,
    creep: false,
    base: { ...small.base, rest: [before, after] },
  });
  const circle: Partial<BenchSetUp> = { trajectories: { orbit: { shape: "circle", plane: "xy", radius: 0.06 } } };

  test.each<[string, Partial<BenchSetUp>, BenchCheckCode, RegExp]>([
    ["no tare", rest(0.2, 0.2), "no-tare", /neither end/],
    ["one tare", rest(3, 0.2), "one-tare", /one end/],
    ["tared on one sample", inRuns({ kind: "one-sample-tare" }), "one-sample-tare", /exactly 0 in all six/],
    [
      "saturated",
      { ...inRuns({ kind: "saturated", channel: "my", limit: 0.2 }), sensor: { fullScale: null, crossTalk: null } },
      "saturated",
      /my stays at/,
    ],
    ["constant channel", inRuns({ kind: "constant", channel: "fz" }), "constant-channel", /fz reads/],
    ["sequence gap", inRuns({ kind: "sequence-gap", at: 8, samples: 40 }), "sequence-gap", /40 readings are missing/],
    ["status bit", inRuns({ kind: "status", at: 8, samples: 40 }), "status", /first at 8.00 s \(4\)/],
    ["jittered rate", inRuns({ kind: "jitter", share: 0.35 }), "jitter", /unevenly/],
    ["loose mount", inRuns({ kind: "loose-mount", size: 1.5 }), "loose-mount", /play/],
    ["cable tug", inRuns({ kind: "cable-tug", channel: "fx", size: 0.4 }), "stroke-uneven", /cable that tugs/],
    ["swapped Fx and Fy", withFault({ kind: "swapped", channels: ["fx", "fy"] }), "turned", /Fx and Fy are swapped/],
    ["moments in N mm, weighed", withFault({ kind: "scale", force: 1, moment: 1000 }), "known-mass", /written in N mm/],
    [
      "moments in N mm, not weighed",
      {
        ...withFault({ kind: "scale", force: 1, moment: 1000 }),
        ...noMass,
        sensor: { fullScale: null, crossTalk: null },
      },
      "closure",
      /written in N mm/,
    ],
    [
      "forces in pounds, not weighed",
      { ...withFault({ kind: "scale", force: 1 / 4.4482216, moment: 1 }), ...noMass },
      "closure",
      /forces were written in lbf/,
    ],
    ["upside down, weighed", withFault(upsideDown), "known-mass", /upside down/],
    ["upside down, not weighed", { ...withFault(upsideDown), ...noMass }, "closure", /upside down/],
    ["left-handed, weighed", { ...withFault(leftHanded), ...circle }, "known-mass", /left-handed/],
    ["left-handed, not weighed", { ...withFault(leftHanded), ...circle, ...noMass }, "closure", /left-handed/],
    [
      "the other sign",
      { ...withFault({ kind: "flipped", channels: ["fx", "fy", "fz", "mx", "my", "mz"] }), ...noMass },
      "sign",
      /on_sensor or on_arm|sign/,
    ],
    ["raw counts without a scale", withFault({ kind: "scale", force: 1e6, moment: 1e6 }), "known-mass", /counts/],
    [
      "raw counts, not weighed",
      { ...withFault({ kind: "scale", force: 1e6, moment: 1e6 }), ...noMass },
      "over-scale",
      /counts/,
    ],
    [
      "lever off sideways",
      { ...small, creep: false, sensor: { at: { translation: [0.03, 0, 0.085], rotation: [1, 0, 0, 0] } } },
      "lever",
      /30 mm further along x/,
    ],
    [
      "lever off in height",
      { ...small, creep: false, sensor: { at: { translation: [0, 0, 0.125], rotation: [1, 0, 0, 0] } } },
      "lever",
      /height of/,
    ],
    [
      "arm never moves",
      {
        ...small,
        creep: false,
        base: { ...small.base, trajectory: { shape: "line", axis: "x", stroke: 0 } },
        trajectories: { reach: { shape: "line", axis: "x", stroke: 0 } },
      },
      "does-not-move",
      /never moves/,
    ],
    [
      "wrong speed filed",
      { ...small, creep: false, filedRate: ({ index }) => (index === 1 ? 1 / 1.4 : null) },
      "wrong-trajectory",
      /filed speed/,
    ],
    [
      "two clocks",
      { ...small, creep: false, base: { ...small.base, arm: { ...stand.arm, offset: 0.06 } } },
      "phase",
      /quarter of a cycle/,
    ],
    [
      "filter not declared, slow readings",
      { ...small, creep: false, sensor: { filter: null } },
      "aliasing",
      /not declared/,
    ],
    [
      "soft stand",
      { ...small, creep: false, base: { ...small.base, fixture: { frequency: 3, damping: 0.05 } } },
      "resonance",
      /own frequency/,
    ],
  ])("%s", (_, setUp, code, words) => {
    const found = evaluatedBench(setUp);
    expect(codesOf(found)).toContain(code);
    expect(messages(found)).toMatch(words);
  });

  const filed = (change: (run: BenchRunDeclaration) => Partial<BenchRunDeclaration>): BenchEvaluation => {
    const input = benchInput({ ...cleanBench, ...small, creep: false });
    const runs = input.bench.runs.map((run) => ({ ...run, ...change(run) }));
    return evaluateBench({ ...input, bench: { ...input.bench, runs } });
  };

  test("a run with other cycles than filed is doubted; the number that was run, or none, is not", () => {
    // the stand runs 8 cycles each time
    const found = filed(({ id }) => ({ cycles: id === "run-1" ? 12 : id === "run-2" ? null : 8 }));
    const doubted = found.runs.filter(({ checks }) => checks.some(({ code }) => code === "wrong-trajectory"));
    expect(doubted.map(({ id, used }) => [id, used])).toEqual([["run-1", true]]);
    expect(messages(found)).toMatch(/runs [78]\.\d cycles, 12 are filed/);
  });

  test("a sensor that is warmer with the counterweights in every refit is noted; one that warms from refit to refit is not", () => {
    const warm = (with_: number) =>
      filed(({ refit, configuration }) => ({
        temperature: 20 + 4 * Number(refit) + (configuration === "weighted" ? with_ : 0),
      }));
    expect(codesOf(warm(7))).toContain("temperature-apart");
    expect(messages(warm(7))).toContain("7.0 K warmer with weighted than with bare");
    expect(codesOf(warm(2))).not.toContain("temperature-apart");
  });

  test("what makes a reduction doubtful holds its verdict back", () => {
    for (const setUp of [
      withFault(upsideDown),
      { ...withFault(leftHanded), ...circle, ...noMass },
      inRuns({ kind: "loose-mount", size: 1.5 }),
    ])
      expect(claims(evaluatedBench(setUp))).toBe(0);
  });

  test("without weighing, tap, creep and declared filter it is said what nothing was held against", () => {
    const found = evaluatedBench({
      ...small,
      ...noMass,
      creep: false,
      periods: [1.9],
      sensor: { filter: null, crossTalk: null, fullScale: null },
    });
    expect(found.unchecked).toHaveLength(7);
    expect(found.unchecked).toContain("height of the lever (no tap at a known place)");
  });

  test("two refits have no verdict", () => {
    const found = evaluatedBench({ ...small, refits: 2, creep: false });
    expect(new Set(found.cells.map(({ verdict }) => verdict))).toEqual(new Set(["too few refits", null]));
  });
});
