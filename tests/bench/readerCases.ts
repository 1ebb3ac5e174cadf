import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { ULog } from "@foxglove/ulog";
import { FileReader } from "@foxglove/ulog/node.js";
import type { SignalRequest } from "../../src/foundation/recording.ts";
import { readLog } from "../../src/readers/readLog.ts";
import { buildMcap, type McapMessage } from "../readers/mcap/buildMcap.ts";

/** Least seconds of `rounds` readings, and of others between them, so that all see the same machine. */
async function leastSeconds(rounds: number, ...reads: (() => Promise<unknown>)[]): Promise<number[]> {
  const least = reads.map(() => Number.POSITIVE_INFINITY);
  for (let round = 0; round < rounds; round++)
    for (const [k, read] of reads.entries()) {
      const start = performance.now();
      await read();
      least[k] = Math.min(least[k]!, (performance.now() - start) / 1000);
    }
  return least;
}

const poses: readonly SignalRequest[] = [
  { signal: "vehicle_pose", topic: "/t1" },
  { signal: "effector_pose", topic: "/t2" },
  { signal: "vehicle_estimate", topic: "/t3" },
];

/**
 * Times the readers on the files of `reader_files.py` and prints what they took as JSON.
 *
 * @param folder  of those files
 * @param ulog    a ULog of some megabytes; "" where there is none
 */
export async function readerCases(folder: string, ulog: string): Promise<Record<string, number>> {
  const [bag, database, mcap, table] = ["poses.bag", "poses.db3", "poses.mcap", "million.csv"].map((name) =>
    join(folder, name),
  ) as [string, string, string, string];
  await writeMcap(database, mcap);
  const read = (path: string) => () => readLog([path], poses);
  const [rosbag, sqlite, chunks] = await leastSeconds(40, read(bag), read(database), read(mcap));
  const columns: readonly SignalRequest[] = [
    {
      signal: "vehicle_pose",
      topic: "",
      columns: Object.fromEntries(["t", "x", "y", "z", "qx", "qy", "qz", "qw"].map((name) => [name, name])),
    },
    { signal: "vehicle_setpoint", topic: "", columns: { t: "t", x: "sx", y: "sy", z: "sz" } },
  ];
  const [rows] = await leastSeconds(3, () => readLog([table], columns));
  const seconds: Record<string, number> = { rosbag: rosbag!, sqlite: sqlite!, mcap: chunks!, table: rows! };
  if (ulog !== "") {
    const whole = async (): Promise<void> => {
      const reader = new FileReader(ulog);
      const log = new ULog(reader);
      await log.open();
      for await (const _ of log.readMessages());
      await reader.close();
    };
    const topics: readonly SignalRequest[] = [
      { signal: "vehicle_pose", topic: "vehicle_local_position" },
      { signal: "vehicle_rate", topic: "sensor_combined" },
    ];
    const [own, library] = await leastSeconds(8, () => readLog([ulog], topics), whole);
    Object.assign(seconds, { ulog: own!, ulogLibrary: library! });
  }
  return seconds;
}

/** The same messages as in the database, by their bytes. */
async function writeMcap(database: string, path: string): Promise<void> {
  const { db3Part } = await import("../../src/readers/ros2/db3Part.ts");
  const part = db3Part(database);
  const messages: McapMessage[] = [];
  const targets = new Map(
    [...part.connections.values()].map(({ id, topic, type }) => [
      id,
      (high: number, low: number, view: DataView, at: number, end: number) => {
        const data = new Uint8Array(view.buffer, view.byteOffset + at, end - at).slice();
        messages.push({ topic, type, logTime: (BigInt(high) << 32n) + BigInt(low), data });
      },
    ]),
  );
  await part.readMessages(targets);
  part.close();
  writeFileSync(path, await buildMcap(messages, { chunkSize: 768 * 1024 }));
  if (readFileSync(path).length < 1000) throw new Error("no MCAP was written");
}

if (process.argv[2] === "--readers")
  process.stdout.write(`${JSON.stringify(await readerCases(process.argv[3]!, process.argv[4] ?? ""))}\n`);
