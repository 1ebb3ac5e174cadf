import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { type BenchReading, benchChannels } from "../../src/contract/benchDeclaration.ts";
import { type BenchSetUp, benchInput } from "./simulatedBench.ts";

/** How a table of the bench is written: units of its headings, and what a value is divided by. */
export interface BenchTable {
  readonly force: { readonly unit: string; readonly si: number };
  readonly moment: { readonly unit: string; readonly si: number };
  readonly heading: (name: string, unit: string) => string;
}

export const siTable: BenchTable = {
  force: { unit: "N", si: 1 },
  moment: { unit: "N m", si: 1 },
  heading: (name, unit) => `${name} [${unit}]`,
};
export const poundTable: BenchTable = {
  force: { unit: "lbf", si: 4.4482216152605 },
  moment: { unit: "N-mm", si: 0.001 },
  heading: (name, unit) => `${name} (${unit})`,
};

const columnsOf = ({ heading, force, moment }: BenchTable): Record<string, string> =>
  Object.fromEntries(
    benchChannels.map((name) => [name, heading(name, name.startsWith("f") ? force.unit : moment.unit)]),
  );

/** A reading as a table; the arm stands at the nearest of its own instants, which are whole steps of the sensor's. */
export function benchCsv({ t, wrench, sequence, status, arm }: BenchReading, table: BenchTable): string {
  const columns = columnsOf(table);
  const names = [
    "time [s]",
    ...benchChannels.map((name) => columns[name]),
    "n",
    "status",
    "ax [mm]",
    "ay [mm]",
    "az [mm]",
  ];
  const lines = [names.map((name) => `"${name}"`).join(",")];
  for (let i = 0; i < t.length; i++) {
    const values = benchChannels.map((name) => wrench[name][i]! / table[name.startsWith("f") ? "force" : "moment"].si);
    const k =
      arm === null
        ? 0
        : Math.min(
            arm.t.length - 1,
            Math.round(((t[i]! - arm.t[0]!) / (arm.t.at(-1)! - arm.t[0]!)) * (arm.t.length - 1)),
          );
    const place = arm === null ? [0, 0, 0] : [arm.x[k]! * 1000, arm.y[k]! * 1000, arm.z[k]! * 1000];
    lines.push([t[i]!, ...values, sequence?.[i] ?? i, status?.[i] ?? 0, ...place].join(","));
  }
  return `${lines.join("\n")}\n`;
}

/** Writes a simulated bench into a folder: its files, a table of runs, and a manifest of the bench alone. */
export function writeBench(
  folder: string,
  setUp: BenchSetUp,
  table: BenchTable,
  changes: (manifest: string) => string = (text) => text,
): string {
  const input = benchInput(setUp);
  mkdirSync(folder, { recursive: true });
  for (const [i, { reading }] of input.runs.entries())
    writeFileSync(join(folder, `run-${i}.csv`), benchCsv(reading!, table));
  for (const { declared, reading } of [...input.knownMass, ...input.tap])
    writeFileSync(join(folder, declared.log), benchCsv(reading, table));
  const rows = input.bench.runs.map(
    ({ configuration, trajectory, speed, refit }, i) =>
      `run-${i}.csv,${configuration},${trajectory},${speed!.label},${refit}`,
  );
  writeFileSync(join(folder, "bench.csv"), `log,configuration,trajectory,speed,refit\n${rows.join("\n")}\n`);
  const mm = (place: readonly number[]): string =>
    `[${place.map((value) => `${Math.round(1000 * value)} mm`).join(", ")}]`;
  const columns = Object.entries(columnsOf(table)).map(([name, column]) => `${name}: "${column}"`);
  const text = `title: A bench
baseline: bare
candidate: weighted
configurations:
  bare: { label: Arm alone }
  weighted: { label: Counterweights fitted }
trajectories:
  reach: { shape: line, axis: x, stroke: 150 mm, period: 1.9 s, cycles: 10 }
bench:
  sensor:
    at: { translation: [0 mm, 0 mm, 85 mm], rotation: [180 deg, 0 deg, 0 deg] }
    sign: on_sensor
    full_scale: { force: [80 N, 80 N, 240 N], moment: [4 N m, 4 N m, 4 N m] }
    cross_talk: 2 %
    filter: none
  point: arm_base
  signals:
    wrench: { columns: { t: "time [s]", ${columns.join(", ")}, sequence: n, status: status } }
    arm: { columns: { t: "time [s]", x: "ax [mm]", y: "ay [mm]", z: "az [mm]" } }
  tare: { before: 5 s, after: 5 s }
  known_mass:
${input.knownMass.map(({ declared }) => `    - { log: ${declared.log}, mass: ${1000 * declared.mass} g, at: ${mm(declared.at)} }`).join("\n")}
  tap:
${input.tap.map(({ declared }) => `    - { log: ${declared.log}, configuration: ${declared.configuration}, at: ${mm(declared.at)}, along: x }`).join("\n")}
  runs: bench.csv
`;
  const path = join(folder, "campaign.yaml");
  writeFileSync(path, changes(text));
  return path;
}
