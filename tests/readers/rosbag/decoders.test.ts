import { closeSync, openSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import type { Recording, SignalRequest } from "../../../src/foundation/recording.ts";
import { readLog } from "../../../src/readers/readLog.ts";
import { type BagMessage, buildBag, f32s, f64s, header, str, u8, u16s, u32, writeBag } from "../../support/writeBag.ts";
import { counted, poses, start } from "./poses.ts";
import { temporaryFolder } from "./temporaryFolder.ts";

const folder = temporaryFolder();
let files = 0;

async function read(messages: readonly BagMessage[], request: SignalRequest, perChunk = 10): Promise<Recording> {
  const path = join(folder, `decoders-${files++}.bag`);
  writeBag(path, messages, { perChunk });
  return readLog([path], [request]);
}

test("motors: a column per channel of the widest message; NaN where a message has fewer", async () => {
  const channels = (i: number, ...values: number[]): BagMessage => ({
    topic: "/rc/out",
    type: "mavros_msgs/RCOut",
    md5: "52cacf104bab5ae3b103cfe176590713",
    received: [start, i],
    data: Buffer.concat([header([start, i + 1]), u32(values.length), u16s(...values)]),
  });
  const log = [channels(0, 1100), channels(1, 1200, 1300, 65_535), channels(2), channels(3, 1, 2)];
  const signal = (await read(log, { signal: "motors", topic: "/rc/out" })).signals.get("motors")!;
  const nan = Number.NaN;
  expect(signal.columns).toEqual({
    m0: Float64Array.of(1100, 1200, nan, 1),
    m1: Float64Array.of(nan, 1300, nan, 2),
    m2: Float64Array.of(nan, 65_535, nan, nan),
  });
});

test("motors: more channels than any controller has is damage, not ten thousand columns", async () => {
  const data = Buffer.concat([header([start, 1]), u32(10_000), Buffer.alloc(20_000)]);
  const log = [
    {
      topic: "/rc/out",
      type: "mavros_msgs/RCOut",
      md5: "52cacf104bab5ae3b103cfe176590713",
      received: [start, 0] as const,
      data,
    },
  ];
  expect((await read(log, { signal: "motors", topic: "/rc/out" })).missing[0]).toMatchObject({ reason: "empty" });
});

describe("battery: the type changed with ROS Melodic, and its sum tells which it is", () => {
  const tail = [u8(2), u8(1), u8(3), u8(1), u32(3), f32s(4.125, 4.25, 4.5)];
  const message = (md5: string, numbers: Buffer, end: Buffer[]): BagMessage => ({
    topic: "/battery",
    type: "sensor_msgs/BatteryState",
    md5,
    received: [start, 0],
    data: Buffer.concat([header([start, 1], "bay"), numbers, ...tail, ...end]),
  });
  const cases: [string, BagMessage][] = [
    // voltage, current, charge, capacity, design capacity, percentage
    [
      "without a temperature",
      message("476f837fa6771f6e16e3bf4ef96f8770", f32s(24.5, -18, 3, 5, 6, 0.75), [str("a"), str("b")]),
    ],
    [
      "with a temperature",
      message("4ddae7f048e32fda22cac764685e3974", f32s(24.5, 31, -18, 3, 5, 6, 0.75), [u32(0), str("a"), str("b")]),
    ],
  ];
  for (const [name, log] of cases) {
    test(name, async () => {
      const { signals } = await read([log], { signal: "battery", topic: "/battery" });
      expect(signals.get("battery")!.columns).toEqual({
        voltage: Float64Array.of(24.5),
        current: Float64Array.of(-18),
        percentage: Float64Array.of(0.75),
        cells: Float64Array.of(3),
      });
    });
  }
});

test("a trajectory without a point, or whose point holds no transform, gives no row and is counted", async () => {
  const message = (i: number, ...body: Buffer[]): BagMessage => ({
    topic: "/command",
    type: "trajectory_msgs/MultiDOFJointTrajectory",
    md5: "ef145a45a5f47b77b7f5cdde4b16c942",
    received: [start, i],
    data: Buffer.concat([header([start, 1 + i]), u32(1), str("base_link"), ...body]),
  });
  const log = [
    message(0, u32(0)),
    message(1, u32(1), u32(1), f64s(1, 2, 3, 0, 0, 0, 1), u32(0), u32(0), u32(0), u32(0)),
    message(2, u32(1), u32(0), u32(0), u32(0), u32(0), u32(0)),
  ];
  const { signals, recovered } = await read(log, { signal: "vehicle_setpoint", topic: "/command" });
  expect(signals.get("vehicle_setpoint")!.columns.z).toEqual(Float64Array.of(3));
  expect(recovered).toMatch(/2 message\(s\) are no whole trajectory_msgs\/MultiDOFJointTrajectory or hold nothing/);
});

describe("what nobody wants is stepped over, and what is wanted is found wherever the windows end", () => {
  // Lengths about the window sizes (16 and 256 KiB) and far above them.
  const lengths = [0, 1, 90, 16_300, 16_384, 40_000, 262_000, 262_144, 700_000, 1_500_000];
  const image = (length: number, i: number): BagMessage => ({
    topic: "/camera",
    type: "sensor_msgs/Image",
    received: [start + 1, i],
    data: Buffer.alloc(length, 0xa5),
  });

  test("poses between images of any length", async () => {
    const wanted = poses(400);
    const log = wanted.flatMap((pose, i) =>
      i % 9 === 0 ? [pose, image(lengths[(i / 9) % lengths.length]!, i)] : [pose],
    );
    for (const perChunk of [7, 100, 1000]) {
      const { signals, recovered } = await read(log, { signal: "vehicle_pose", topic: "/mocap/airframe" }, perChunk);
      expect(recovered).toBeNull();
      expect(signals.get("vehicle_pose")!.columns.x).toEqual(counted(400));
    }
  });

  test("wanted messages longer than a window", async () => {
    const definition = "float64[] values\n";
    const log = [3, 40_000, 5, 100_000].map(
      (count, i): BagMessage => ({
        topic: "/spectrum",
        type: "tank_wall/Spectrum",
        definition,
        received: [start, i],
        data: Buffer.concat([u32(count), f64s(...Array.from({ length: count }, (_, k) => i + k))]),
      }),
    );
    const { signals } = await read(log, { signal: "vehicle_estimate", topic: "/spectrum", fields: { x: "values[2]" } });
    expect(signals.get("vehicle_estimate")!.columns.x).toEqual(Float64Array.of(2, 3, 4, 5));
  });
});

test("the reader leaves no file open, whether it reads or refuses", async () => {
  // The system hands out the lowest free number: a hundred files left open would show in it, whatever others do.
  const next = (): number => {
    const file = openSync(import.meta.filename, "r");
    closeSync(file);
    return file;
  };
  const before = next();
  const path = join(folder, "cut.bag");
  writeFileSync(path, buildBag(poses(3)).bytes.subarray(0, 60));
  for (let i = 0; i < 100; i++) {
    await read(poses(3), { signal: "vehicle_pose", topic: "/mocap/airframe" });
    await expect(readLog([path], [])).rejects.toThrow(/header/);
  }
  expect(next()).toBeLessThan(before + 100);
});
