import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { inspectLog } from "../../../src/pipeline/inspectLog.ts";
import { readLog, readStamps, surveyLog } from "../../../src/readers/readLog.ts";
import { builtInDefinition } from "../../../src/readers/ros2/builtInDefinition.ts";
import { buildMcap, type McapMessage } from "../mcap/buildMcap.ts";
import { temporaryFolder } from "../rosbag/temporaryFolder.ts";

const folder = temporaryFolder();
let files = 0;

/** A CDR body: each value aligned to its own width from the end of the encapsulation, as the standard lays them out. */
function cdr(...values: readonly (readonly ["u64", bigint] | readonly ["f32" | "u8" | "f64", number])[]): Buffer {
  const width = { u64: 8, f64: 8, f32: 4, u8: 1 } as const;
  const parts: Buffer[] = [];
  let at = 0;
  for (const [kind, value] of values) {
    const size = width[kind];
    const padding = (size - (at % size)) % size;
    const bytes = Buffer.alloc(padding + size);
    if (kind === "u64") bytes.writeBigUInt64LE(value as bigint, padding);
    else if (kind === "f64") bytes.writeDoubleLE(value as number, padding);
    else if (kind === "f32") bytes.writeFloatLE(value as number, padding);
    else bytes[padding] = value as number;
    parts.push(bytes);
    at += padding + size;
  }
  return Buffer.concat([Buffer.from([0, 1, 0, 0]), ...parts]);
}

const f32s = (...values: number[]) => values.map((value) => ["f32", value] as const);
const start = 1_700_000_000_000_000_000n;

async function bag(type: string, definition: string, bodies: readonly Buffer[]): Promise<string> {
  const messages = bodies.map(
    (data, k): McapMessage => ({
      topic: "/fmu/out/it",
      type: `px4_msgs/msg/${type}`,
      definition,
      logTime: start + BigInt(k) * 10_000_000n,
      data,
    }),
  );
  const path = join(folder, `px4-${files++}.mcap`);
  writeFileSync(path, await buildMcap(messages));
  return path;
}

describe("px4_msgs by the definition in the log, whatever its version", () => {
  test("bear the same stamps where a log is inspected as where its signals are read", async () => {
    const definition = "uint64 timestamp\nuint64 timestamp_sample\nfloat32[3] xyz\n";
    const rates = f32s(0.1, 0.2, 0.3);
    const path = await bag("VehicleAngularVelocity", definition, [
      cdr(["u64", 5_000_300n], ["u64", 5_000_000n], ...rates),
      cdr(["u64", 5_010_300n], ["u64", 0n], ...rates),
      cdr(["u64", 0n], ["u64", 0n], ...rates),
    ]);
    const { signals } = await readLog([path], [{ signal: "vehicle_rate", topic: "/fmu/out/it" }]);
    const read = signals.get("vehicle_rate")!;
    const inspected = (await readStamps(path, ["/fmu/out/it"])).topics.get("/fmu/out/it")!;
    // as set above: when it was sampled, else when it was sent, else not at all
    expect(inspected.stamped).toEqual({ epoch: 5_000_000_000n, seconds: Float64Array.of(0, 0.0103, Number.NaN) });
    expect(inspected.zeroStamps).toBe(1);
    expect({ stamped: read.stamped, zeroStamps: read.zeroStamps }).toEqual({
      stamped: inspected.stamped,
      zeroStamps: inspected.zeroStamps,
    });
    const { topics, clocks } = await inspectLog(path);
    expect(topics[0]!.stamps).toMatchObject({ epoch: "since start", zero: 1 });
    expect(clocks.map(({ by }) => by)).not.toContain("receipt");
  });

  test("an odometry gives position and attitude, scalar first in the message, stamped when it was sampled", async () => {
    const definition =
      "uint64 timestamp\nuint64 timestamp_sample\nuint8 POSE_FRAME_NED=1\nuint8 pose_frame\nfloat32[3] position\nfloat32[4] q\n";
    const path = await bag("VehicleOdometry", definition, [
      cdr(["u64", 5_000_300n], ["u64", 5_000_000n], ["u8", 1], ...f32s(1, 2, -3, 0.5, -0.5, 0.5, -0.5)),
      cdr(["u64", 5_010_300n], ["u64", 0n], ["u8", 1], ...f32s(1, 2, -3, 1, 0, 0, 0)),
    ]);
    const { signals, missing } = await readLog([path], [{ signal: "vehicle_pose", topic: "/fmu/out/it" }]);
    expect(missing).toEqual([]);
    const { columns, stamped } = signals.get("vehicle_pose")!;
    expect(["x", "y", "z", "qw", "qx", "qy", "qz"].map((name) => columns[name]![0])).toEqual([
      1, 2, -3, 0.5, -0.5, 0.5, -0.5,
    ]);
    const instants = Array.from(stamped!.seconds, (seconds) => Number(stamped!.epoch) / 1e9 + seconds);
    // the sample's own time, and the message's where the sample has none
    expect(instants[0]).toBeCloseTo(5, 9);
    expect(instants[1]).toBeCloseTo(5.0103, 9);
  });

  test("a setpoint that is not a number is not controlled", async () => {
    const definition = "uint64 timestamp\nfloat32[3] position\nfloat32[3] velocity\nfloat32 yaw\n";
    const body = (x: number, yaw: number): Buffer => cdr(["u64", 5_000_000n], ...f32s(x, 2, 3, 0, 0, 0, yaw));
    const path = await bag("TrajectorySetpoint", definition, [body(1, Number.NaN), body(Number.NaN, 0.5)]);
    const { columns, given } = (
      await readLog([path], [{ signal: "vehicle_setpoint", topic: "/fmu/out/it" }])
    ).signals.get("vehicle_setpoint")!;
    expect([...columns.x!]).toEqual([1, Number.NaN]);
    expect([[...given.x!], [...given.y!], [...given.yaw!]]).toEqual([
      [1, 0],
      [1, 1],
      [0, 1],
    ]);
  });

  test("an older layout of a setpoint serves by its names", async () => {
    const path = await bag("TrajectorySetpoint", "uint64 timestamp\nfloat32 x\nfloat32 y\nfloat32 z\nfloat32 yaw\n", [
      cdr(["u64", 1n], ...f32s(1, 2, 3, 0.25)),
    ]);
    const { columns } = (await readLog([path], [{ signal: "vehicle_setpoint", topic: "/fmu/out/it" }])).signals.get(
      "vehicle_setpoint",
    )!;
    expect([columns.x![0], columns.z![0], columns.yaw![0]]).toEqual([1, 3, 0.25]);
  });

  test("an attitude alone is no pose, and a type without the fields is refused with those it has", async () => {
    const attitude = await bag("VehicleAttitude", "uint64 timestamp\nfloat32[4] q\n", [
      cdr(["u64", 1n], ...f32s(1, 0, 0, 0)),
    ]);
    const none = await readLog([attitude], [{ signal: "vehicle_pose", topic: "/fmu/out/it" }]);
    expect(none.missing[0]).toMatchObject({ reason: "wrong-type" });
    const odd = await bag("VehicleOdometry", "uint64 timestamp\nfloat32 speed\n", [cdr(["u64", 1n], ...f32s(1))]);
    const refused = await readLog([odd], [{ signal: "vehicle_pose", topic: "/fmu/out/it" }]);
    expect(refused.missing[0]!.message).toContain("there are timestamp, speed");
  });

  test("inspect offers the signals that a type can serve", async () => {
    const path = await bag("VehicleLocalPosition", "uint64 timestamp\nfloat32 x\nfloat32 y\nfloat32 z\n", [
      cdr(["u64", 1n], ...f32s(1, 2, 3)),
    ]);
    expect((await surveyLog(path)).topics[0]).toMatchObject({
      known: true,
      couldBe: ["vehicle_estimate", "vehicle_pose", "effector_pose"],
    });
  });
});

test("without a definition in the log the built-in one of PX4 1.14 serves: an odometry lies as it says", async () => {
  const definition = builtInDefinition("px4_msgs/msg/VehicleOdometry");
  expect(definition.split("\n").slice(0, 5)).toEqual([
    "uint64 timestamp",
    "uint64 timestamp_sample",
    "uint8 pose_frame",
    "float32[3] position",
    "float32[4] q",
  ]);
});
