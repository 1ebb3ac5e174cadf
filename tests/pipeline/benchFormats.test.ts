import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { parquetWriteBuffer } from "hyparquet-writer";
import { afterAll, expect, test } from "vitest";
import { type BenchReading, type BenchSource, benchChannels } from "../../src/contract/benchDeclaration.ts";
import { readBenchFile } from "../../src/pipeline/bench/readBenchFile.ts";
import { diskEffects } from "../../src/pipeline/effects.ts";
import { buildMcap } from "../readers/mcap/buildMcap.ts";
import { benchInput, cleanBench, stand } from "../support/simulatedBench.ts";
import { writeBag } from "../support/writeBag.ts";

const folder = mkdtempSync(join(tmpdir(), "counterpoise-bench-formats-"));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const base = { ...stand, cycles: 4, sensor: { ...stand.sensor, rate: 100 } };
const input = benchInput({ ...cleanBench, refits: 1, creep: false, periods: [1.4], base });
const reading = input.runs[0]!.reading as BenchReading;
const epoch = 1_700_000_000n;
/** whole nanoseconds, as stamps have them */
const stamps = Array.from(reading.t, (t) => epoch * 1_000_000_000n + BigInt(Math.round(t * 1e9)));
const rowOf = (k: number): number[] => benchChannels.map((name) => reading.wrench[name][k]!);

const header = {
  ros1: "uint32 seq\ntime stamp\nstring frame_id\n",
  ros2: "builtin_interfaces/Time stamp\nstring frame_id\n",
};
const rule = "=".repeat(80);
// as the standard messages of ROS define them
const wrench = `${rule}\nMSG: geometry_msgs/Wrench\nVector3 force\nVector3 torque\n${rule}\nMSG: geometry_msgs/Vector3\nfloat64 x\nfloat64 y\nfloat64 z\n`;
const stampedWrench = (of: string): string =>
  `std_msgs/Header header\nWrench wrench\n${wrench}${rule}\nMSG: std_msgs/Header\n${of}`;

/** A header where there is one, then six doubles: ROS 1 packs them, CDR aligns them to eight bytes behind its own four. */
function message(k: number, kind: "ros1" | "ros2" | "bare"): Buffer {
  const frame = Buffer.from("ft_sensor");
  const [seconds, nanoseconds] = [Number(stamps[k]! / 1_000_000_000n), Number(stamps[k]! % 1_000_000_000n)];
  const words = (values: readonly number[]): Buffer => Buffer.from(Uint32Array.from(values).buffer);
  const doubles = Buffer.from(Float64Array.from(rowOf(k)).buffer);
  if (kind === "bare") return Buffer.concat([Buffer.from([0, 1, 0, 0]), doubles]);
  if (kind === "ros1") return Buffer.concat([words([k, seconds, nanoseconds, frame.length]), frame, doubles]);
  const head = Buffer.concat([words([seconds, nanoseconds, frame.length + 1]), frame, Buffer.from([0])]);
  return Buffer.concat([Buffer.from([0, 1, 0, 0]), head, Buffer.alloc((8 - (head.length % 8)) % 8), doubles]);
}

async function readAs(log: string, source: Partial<BenchSource>): Promise<BenchReading> {
  const none = { topic: null, log: null, columns: null, fields: null, units: null, clock: "bench" };
  const bench = { ...input.bench, signals: { wrench: { ...none, ...source }, arm: null, keyPhase: null } };
  const found = await readBenchFile(bench, { "": [log] }, join(folder, "campaign.yaml"), diskEffects);
  expect(found.checks).toEqual([]);
  return found.reading!;
}

/** Doubles are written in full everywhere, so that every number is the same; of instants, whole nanoseconds are kept. */
function expectSame(found: BenchReading): void {
  expect(found.t.length).toBe(reading.t.length);
  for (const name of benchChannels) expect(found.wrench[name]).toEqual(reading.wrench[name]);
  const worst = Math.max(...found.t.map((t, k) => Math.abs(t - found.t[0]! - (reading.t[k]! - reading.t[0]!))));
  expect(worst).toBeLessThanOrEqual(1.5e-9);
}

const columns = {
  t: "time [s]",
  ...Object.fromEntries(benchChannels.map((name) => [name, `${name} [${unit(name)}]`])),
};
function unit(name: string): string {
  return name.startsWith("f") ? "N" : "N m";
}

test("a wrench from a bag, stamped", async () => {
  writeBag(
    join(folder, "ft.bag"),
    stamps.map((stamp, k) => ({
      topic: "/ft",
      type: "geometry_msgs/WrenchStamped",
      definition: stampedWrench(header.ros1),
      received: [Number(stamp / 1_000_000_000n), Number(stamp % 1_000_000_000n)] as const,
      data: message(k, "ros1"),
    })),
  );
  expectSame(await readAs("ft.bag", { topic: "/ft" }));
});

test.each([
  ["stamped", "geometry_msgs/msg/WrenchStamped", "ros2", stampedWrench(header.ros2)],
  [
    "without a stamp, by its times of receipt",
    "geometry_msgs/msg/Wrench",
    "bare",
    wrench.split("\n").slice(2).join("\n"),
  ],
] as const)("a wrench from MCAP, %s", async (_, type, kind, definition) => {
  const bytes = await buildMcap(
    stamps.map((logTime, k) => ({ topic: "/ft", type, logTime, data: message(k, kind), definition })),
  );
  writeFileSync(join(folder, `${kind}.mcap`), bytes);
  expectSame(await readAs(`${kind}.mcap`, { topic: "/ft" }));
});

test("a wrench from a text table and from Parquet, units by their headings", async () => {
  const names = Object.values(columns).map((name) => `"${name}"`);
  const lines = Array.from(reading.t, (t, k) => [t, ...rowOf(k)].join(","));
  writeFileSync(join(folder, "ft.csv"), `${[names.join(","), ...lines].join("\n")}\n`);
  expectSame(await readAs("ft.csv", { columns }));
  const columnData = [
    { name: columns.t, data: reading.t, type: "DOUBLE" as const },
    ...benchChannels.map((name) => ({
      name: `${name} [${unit(name)}]`,
      data: reading.wrench[name],
      type: "DOUBLE" as const,
    })),
  ];
  writeFileSync(join(folder, "ft.parquet"), Buffer.from(parquetWriteBuffer({ columnData })));
  expectSame(await readAs("ft.parquet", { columns }));
});
