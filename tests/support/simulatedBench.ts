import { type BenchInput, evaluateBench } from "../../src/bench/evaluateBench.ts";
import type { BenchDeclaration, BenchReading, BenchRunDeclaration } from "../../src/contract/benchDeclaration.ts";
import type { BenchEvaluation } from "../../src/contract/benchEvaluation.ts";
import type { Vector3 } from "../../src/foundation/units.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import type { StandFault } from "../../src/simulation/benchFaults.ts";
import {
  type CarriedMass,
  type StandSettings,
  type StandTrajectory,
  simulateKnownMass,
  simulateStand,
  simulateTap,
} from "../../src/simulation/benchStand.ts";

/** The swab arm of the sample's flights: 850 g that travel 0.8 of the control point, 20 cm below the arm base. */
export const arm: CarriedMass = { mass: 0.85, at: [0.04, 0, -0.08], travel: [0.8, 0.8, 0.8] };
export const weights: readonly CarriedMass[] = [
  { mass: 0.27, at: [-0.2, 0, 0.14], travel: [-1.07, -0.151, 0] },
  { mass: 0.27, at: [-0.2, 0, 0.1], travel: [-1.07, -0.151, 0] },
];

export const stand: StandSettings = {
  trajectory: { shape: "line", axis: "x", stroke: 0.15 },
  period: 1.9,
  cycles: 12,
  masses: [arm],
  centre: [0.14, 0, -0.16],
  rest: [3, 3],
  sensor: {
    at: { translation: [0, 0, 0.085], rotation: [1, 0, 0, 0] },
    sign: "on_sensor",
    rate: 200,
    noise: { force: 0.05, moment: 0.002 },
    drift: { force: 0.0003, moment: 0.00002 },
    bias: { force: 2, moment: 0.1 },
    crossTalk: 0,
    serial: 1,
    fullScale: { force: 80, moment: 4 },
    filter: null,
  },
  fixture: null,
  arm: { rate: 100, noise: 0.0001, offset: 0, rollOff: null },
  mounting: { turn: 0, scale: 1 },
  faults: [],
};

/** What one simulated bench has: which runs, and what is declared of them. */
export interface BenchSetUp {
  readonly seed: number;
  readonly trajectories: Readonly<Record<string, StandTrajectory>>;
  readonly periods: readonly number[];
  readonly creep: boolean;
  readonly refits: number;
  readonly base: StandSettings;
  /** scatter from refit to refit: of all masses alike, of one configuration alone, of the turn about the vertical */
  readonly scatter: { readonly shared: number; readonly own: number; readonly turn: number };
  readonly faults: (run: {
    index: number;
    refit: number;
    configuration: string;
    trajectory: string;
    period: number;
  }) => readonly StandFault[];
  readonly sensor: Partial<BenchDeclaration["sensor"]>;
  readonly knownMass: readonly Vector3[];
  readonly tap: boolean;
  readonly filedRate: (run: { index: number }) => number | null;
  /** faults of the known-mass and tap files, as of all others */
  readonly everywhere: readonly StandFault[];
  readonly candidate: readonly CarriedMass[];
  readonly bare: readonly CarriedMass[];
}

export const cleanBench: BenchSetUp = {
  seed: 1,
  trajectories: { reach: { shape: "line", axis: "x", stroke: 0.15 } },
  periods: [1.4, 1.9, 2.8],
  creep: true,
  refits: 5,
  base: stand,
  scatter: { shared: 0.01, own: 0.01, turn: 0.005 },
  faults: () => [],
  sensor: {},
  knownMass: [
    [0, 0.12, 0],
    [0.12, 0, 0],
  ],
  tap: true,
  filedRate: () => null,
  everywhere: [],
  candidate: [arm, ...weights],
  bare: [arm],
};

/** Simulates and evaluates a bench; the truth of it stands in `arm` and `weights`. */
export function evaluatedBench(changes: Partial<BenchSetUp> = {}): BenchEvaluation {
  return evaluateBench(benchInput({ ...cleanBench, ...changes }));
}

export function benchInput(setUp: BenchSetUp): BenchInput {
  const { base, seed } = setUp;
  const random = seededRandom(seed);
  const declared: BenchRunDeclaration[] = [];
  const runs: { reading: BenchReading | null; filed: []; rate: number | null }[] = [];
  let index = 0;
  for (let refit = 1; refit <= setUp.refits; refit++) {
    const turn = setUp.scatter.turn * random.normal();
    const shared = 1 + setUp.scatter.shared * random.normal();
    for (const configuration of ["bare", "weighted"]) {
      const own = setUp.scatter.own;
      const masses = (configuration === "bare" ? setUp.bare : setUp.candidate).map((one) => ({
        ...one,
        mass: one.mass * (1 + own * random.normal()),
      }));
      for (const [trajectory, shape] of Object.entries(setUp.trajectories))
        for (const period of [...setUp.periods, ...(setUp.creep ? [24] : [])]) {
          const faults = [...setUp.everywhere, ...setUp.faults({ index, refit, configuration, trajectory, period })];
          const settings: StandSettings = {
            ...base,
            trajectory: shape,
            period,
            cycles: period > 20 ? 2 : base.cycles,
            masses,
            mounting: { turn, scale: shared },
            sensor: { ...base.sensor, rate: period > 20 ? 50 : base.sensor.rate },
            faults,
          };
          declared.push({
            id: `run-${index}`,
            logs: { "": [`run-${index}.csv`] },
            configuration,
            trajectory,
            speed: { rate: 1 / period, label: `${period} s` },
            cycles: null,
            refit: String(refit),
            temperature: null,
            exclude: null,
          });
          const { reading } = simulateStand(settings, seed * 1000 + index);
          runs.push({ reading, filed: [], rate: setUp.filedRate({ index }) ?? 1 / period });
          index++;
        }
    }
  }
  const still = { ...base, faults: setUp.everywhere, sensor: { ...base.sensor, rate: 1000 } };
  const at: Vector3 = [0.04, 0, -0.06];
  return {
    baseline: "bare",
    candidate: "weighted",
    bench: declaration(setUp, declared),
    point: [0, 0, 0],
    runs,
    knownMass: setUp.knownMass.map((place, k) => ({
      declared: { log: `known-${k}.csv`, mass: 0.5, at: place },
      reading: simulateKnownMass(still, { mass: 0.5, at: place }, seed * 1000 + 900 + k),
    })),
    tap: setUp.tap
      ? ["bare", "weighted"].map((configuration, k) => ({
          declared: { log: `tap-${configuration}.csv`, configuration, at, along: "x" as const },
          reading: simulateTap(
            { ...still, fixture: base.fixture ?? { frequency: 31, damping: 0.02 } },
            { at, along: "x", size: 40 },
            seed * 1000 + 950 + k,
          ),
        }))
      : [],
    expected: () => null,
  };
}

function declaration({ base, sensor }: BenchSetUp, runs: readonly BenchRunDeclaration[]): BenchDeclaration {
  const none = { topic: null, log: null, columns: null, fields: null, units: null, clock: "bench" };
  return {
    sensor: {
      at: base.sensor.at,
      sign: base.sensor.sign,
      fullScale: { force: [80, 80, 240], moment: [4, 4, 4] },
      crossTalk: 0.02,
      counts: null,
      filter: "none",
      calibrated: null,
      ...sensor,
    },
    point: "arm_base",
    signals: { wrench: none, arm: none, keyPhase: null },
    tare: { before: 5, after: 5 },
    sameMotion: false,
    knownMass: [],
    tap: [],
    runs,
  };
}
