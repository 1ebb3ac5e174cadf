import type { BenchReading } from "../src/contract/benchDeclaration.ts";
import { benchChannels } from "../src/contract/benchDeclaration.ts";
import type { Vector3 } from "../src/foundation/units.ts";
import { seededRandom } from "../src/numeric/seededRandom.ts";
import {
  type CarriedMass,
  type StandSettings,
  type StandTrajectory,
  simulateKnownMass,
  simulateStand,
  simulateTap,
} from "../src/simulation/benchStand.ts";
import { sampleArm } from "./sampleCampaign.ts";

/** One file of the sample's bench: a table of whole numbers under headings that name their units. */
export interface BenchFile {
  readonly log: string;
  readonly columns: Readonly<Record<string, Int32Array>>;
}

/** Seed of the sample's bench; file k has seed + k. */
const seed = 20250900;
/** what the recorder makes of a newton and a newton metre */
const counts = { force: 100, moment: 10_000 } as const;
const creepPeriod = 24;
const refits = 5;
const tapAt: Vector3 = [0.04, 0, -0.06];
const hungAt: readonly Vector3[] = [
  [0, 0.12, 0],
  [0.12, 0, 0],
];
const hung = 0.5;

const trajectories: Readonly<Record<string, { readonly shape: StandTrajectory; readonly periods: readonly number[] }>> =
  {
    // the periods in the middle are those that are flown
    orbit: { shape: { shape: "circle", plane: "yz", radius: 0.06 }, periods: [2.1, 1.508, 1.2, creepPeriod] },
    reach: { shape: { shape: "line", axis: "x", stroke: 0.15 }, periods: [2.6, 1.9, 1.4, creepPeriod] },
    sweep: { shape: { shape: "line", axis: "y", stroke: 0.12 }, periods: [2.6, 1.9, 1.4, creepPeriod] },
  };

const base: StandSettings = {
  trajectory: trajectories.reach!.shape,
  period: 1.9,
  cycles: 7,
  masses: [],
  centre: [0.14, 0, -0.16],
  rest: [2, 2],
  sensor: {
    at: { translation: [0, 0, 0.085], rotation: [1, 0, 0, 0] },
    sign: "on_sensor",
    rate: 50,
    noise: { force: 0.02, moment: 0.0008 },
    drift: { force: 0.0003, moment: 0.00002 },
    bias: { force: 2, moment: 0.1 },
    crossTalk: 0.002,
    serial: 4,
    fullScale: { force: 80, moment: 4 },
    filter: { kind: "low-pass", order: 2, cutoff: 15 },
  },
  fixture: { frequency: 31, damping: 0.02 },
  arm: { rate: 50, noise: 0.00005, offset: 0, rollOff: null },
  mounting: { turn: 0, scale: 1 },
  faults: [],
};

interface Filed {
  readonly log: string;
  readonly configuration: string;
  readonly trajectory: string;
  readonly period: number;
  readonly refit: number;
}

/** The runs of the bench: within a refit the configurations come A B B A from trajectory to trajectory. */
export function benchRuns(): Filed[] {
  return Array.from({ length: refits }, (_, k) => k + 1).flatMap((refit) =>
    Object.entries(trajectories).flatMap(([trajectory, { periods }], place) =>
      ((refit + place) % 2 === 0 ? ["weighted", "bare"] : ["bare", "weighted"]).flatMap((configuration) =>
        periods.map((period): Filed => {
          const name = `${trajectory}-${period === creepPeriod ? "creep" : `${Math.round(1000 * period)}ms`}-${configuration}-${refit}`;
          return { log: `bench/${name}.parquet`, configuration, trajectory, period, refit };
        }),
      ),
    ),
  );
}

/** Files of the bench: runs that are wanted, two known masses, a tap of each configuration. */
export function benchFiles(wanted: (log: string) => boolean = () => true): BenchFile[] {
  const random = seededRandom(seed);
  // a mounting turns the arm by some tenths of a degree and fills the swab differently
  const mountings = Array.from({ length: refits }, () => ({
    turn: 0.004 * random.normal(),
    scale: 1 + 0.01 * random.normal(),
  }));
  const fitted = mountings.map(() =>
    [false, true].map((weighted) =>
      sampleArm(weighted).map((one): CarriedMass => ({ ...one, mass: one.mass * (1 + 0.006 * random.normal()) })),
    ),
  );
  const runs = benchRuns().flatMap((run, k): BenchFile[] => {
    if (!wanted(run.log)) return [];
    const creep = run.period === creepPeriod;
    const rate = creep ? 20 : base.sensor.rate;
    const settings: StandSettings = {
      ...base,
      trajectory: trajectories[run.trajectory]!.shape,
      period: run.period,
      cycles: creep ? 2 : base.cycles,
      masses: fitted[run.refit - 1]![run.configuration === "weighted" ? 1 : 0]!,
      mounting: mountings[run.refit - 1]!,
      sensor: { ...base.sensor, rate },
      arm: { ...base.arm, rate },
    };
    return [{ log: run.log, columns: whole(simulateStand(settings, seed + k).reading) }];
  });
  const struck: StandSettings = { ...base, masses: sampleArm(false), sensor: { ...base.sensor, rate: 500 } };
  const more = hungAt.map(
    (at, k): BenchFile => ({
      log: `bench/known-mass-${k + 1}.parquet`,
      columns: whole(simulateKnownMass({ ...struck, sensor: base.sensor }, { mass: hung, at }, seed + 900 + k)),
    }),
  );
  const taps = [false, true].map(
    (weighted, k): BenchFile => ({
      log: `bench/tap-${weighted ? "weighted" : "bare"}.parquet`,
      columns: whole(
        simulateTap({ ...struck, masses: sampleArm(weighted) }, { at: tapAt, along: "x", size: 40 }, seed + 950 + k),
      ),
    }),
  );
  return [...runs, ...more, ...taps];
}

/** As the recorder writes it: milliseconds, counts, and the arm's place in micrometres. */
function whole({ t, wrench, arm }: BenchReading): BenchFile["columns"] {
  const round = (values: Float64Array, per: number, step = 1): Int32Array =>
    Int32Array.from(values, (value) => step * Math.round((per * value) / step));
  return {
    "time [ms]": round(t, 1000),
    ...Object.fromEntries(
      benchChannels.map((name) => [
        `${name} [counts]`,
        round(wrench[name], name.startsWith("f") ? counts.force : counts.moment),
      ]),
    ),
    ...(arm === null
      ? {}
      : Object.fromEntries((["x", "y", "z"] as const).map((name) => [`arm ${name} [um]`, round(arm[name], 1e6, 50)]))),
  };
}

/** The table of runs that `bench: runs` names. */
export function benchTable(): string {
  const rows = benchRuns().map(({ log, configuration, trajectory, period, refit }) =>
    [log, configuration, trajectory, `${period} s`, `mounting ${refit}`].join(),
  );
  return `log,configuration,trajectory,speed,refit\n${rows.join("\n")}\n`;
}

/** The manifest of the flights with the block of the bench before their runs. */
export const withBenchBlock = (manifest: string): string => manifest.replace(/^runs:$/m, `${benchBlock()}runs:`);

function benchBlock(): string {
  const mm = (place: readonly number[]): string =>
    `[${place.map((value) => `${Math.round(1000 * value)} mm`).join(", ")}]`;
  const columns = benchChannels.map((name) => `${name}: "${name} [counts]"`).join(", ");
  const arm = ["x", "y", "z"].map((name) => `${name}: "arm ${name} [um]"`).join(", ");
  const { translation } = base.sensor.at;
  return `bench:
  sensor:
    at: { translation: ${mm(translation)}, rotation: [180 deg, 0 deg, 0 deg] }
    sign: on_sensor
    full_scale: { force: [80 N, 80 N, 80 N], moment: [4 N m, 4 N m, 4 N m] }
    cross_talk: 0.4 %
    counts: { force: ${counts.force}, moment: ${counts.moment}, of: { force: N, moment: N m } }
    filter: { kind: low-pass, order: 2, cutoff: 15 Hz }
    calibrated: 2025-08-20
  point: vehicle_com
  signals:
    wrench: { columns: { t: "time [ms]", ${columns} } }
    arm: { columns: { t: "time [ms]", ${arm} } }
  tare: { before: 2 s, after: 2 s }
  known_mass:
${hungAt.map((at, k) => `    - { log: bench/known-mass-${k + 1}.parquet, mass: ${1000 * hung} g, at: ${mm(at)} }`).join("\n")}
  tap:
${["bare", "weighted"].map((name) => `    - { log: bench/tap-${name}.parquet, configuration: ${name}, at: ${mm(tapAt)}, along: x }`).join("\n")}
  trajectories:
    sweep: { shape: line, axis: y, stroke: 120 mm, period: 1.9 s, cycles: 7 }
  runs: bench/runs.csv
`;
}
