import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { buildTimeline } from "../../../src/alignment/stamps.ts";
import { defaultSettings } from "../../../src/contract/settings.ts";
import { LogError } from "../../../src/foundation/errors.ts";
import { seededRandom } from "../../../src/numeric/seededRandom.ts";
import { readLog, surveyLog } from "../../../src/readers/readLog.ts";
import { temporaryFolder } from "../rosbag/temporaryFolder.ts";
import { fields, UlogBuilder } from "./buildUlog.ts";

const folder = temporaryFolder();
let files = 0;

function file(bytes: Uint8Array): string {
  const path = join(folder, `log-${files++}.ulg`);
  writeFileSync(path, bytes);
  return path;
}

const second = 1_000_000n;
const positions = "vehicle_local_position:uint64_t timestamp;float x;float y;float z;uint8_t[4] _padding0;";

function flight(rows = 20): UlogBuilder {
  const log = new UlogBuilder()
    .flags(0)
    .format(positions)
    .parameter("float MC_ROLL_P", 6.5)
    .parameter("int32_t SYS_ID", 7);
  log.subscribe(3, "vehicle_local_position");
  for (let k = 0; k < rows; k++) log.data(3, fields(5n * second + BigInt(k) * 10_000n, k / 8, -1.5, 2));
  return log;
}

const estimate = { signal: "vehicle_estimate", topic: "vehicle_local_position" } as const;
const x = async (bytes: Uint8Array): Promise<number[]> => [
  ...((await readLog([file(bytes)], [estimate])).signals.get("vehicle_estimate")?.columns.x ?? []),
];
const eighths = (count: number): number[] => Array.from({ length: count }, (_, k) => k / 8);

describe("a log of known contents", () => {
  test("is read with its times since boot and its parameters at the start", async () => {
    const log = flight(3).parameter("float MC_ROLL_P", 9).finish();
    const recording = await readLog([file(log)], [estimate]);
    const { stamped, columns } = recording.signals.get("vehicle_estimate")!;
    expect(stamped!.epoch).toBe(5_000_000_000n);
    expect([...stamped!.seconds]).toEqual([0, 0.01, 0.02]);
    expect([...columns.z!]).toEqual([2, 2, 2]);
    // set again in flight: not what the flight began with
    expect(Object.fromEntries(recording.parameters!)).toEqual({ MC_ROLL_P: 6.5, SYS_ID: 7 });
    expect(recording.recovered).toBeNull();
  });

  test("old and new layouts of one topic give the same columns", async () => {
    const odometry = (format: string) =>
      new UlogBuilder()
        .format(`vehicle_visual_odometry:uint64_t timestamp;${format}`)
        .subscribe(0, "vehicle_visual_odometry")
        .data(0, fields(6n * second, 1, 2, 3, 0.5, -0.5, 0.5, -0.5))
        .finish();
    const request = { signal: "vehicle_pose", topic: "vehicle_visual_odometry" } as const;
    for (const format of ["float[3] position;float[4] q;", "float x;float y;float z;float[4] q;"]) {
      const { columns } = (await readLog([file(odometry(format))], [request])).signals.get("vehicle_pose")!;
      // scalar first in the log
      expect(["x", "y", "z", "qw", "qx", "qy", "qz"].map((name) => columns[name]![0])).toEqual([
        1, 2, 3, 0.5, -0.5, 0.5, -0.5,
      ]);
    }
  });

  test("a setpoint that is not a number is not controlled: masked, and never 0", async () => {
    const log = new UlogBuilder()
      .format("trajectory_setpoint:uint64_t timestamp;float[3] position;float yaw;")
      .subscribe(1, "trajectory_setpoint")
      .data(1, fields(6n * second, 1, 2, 3, Number.NaN))
      .data(1, fields(7n * second, Number.NaN, Number.NaN, 3, 0))
      .finish();
    const { columns, given } = (
      await readLog([file(log)], [{ signal: "vehicle_setpoint", topic: "trajectory_setpoint" }])
    ).signals.get("vehicle_setpoint")!;
    expect([...columns.x!]).toEqual([1, Number.NaN]);
    expect([...columns.z!]).toEqual([3, 3]);
    expect([...given.x!, ...given.z!, ...given.yaw!]).toEqual([1, 0, 1, 1, 0, 1]);
  });

  test("the last value before the log began is received when it begins, whatever its stamp", async () => {
    const log = new UlogBuilder()
      .format(positions)
      .subscribe(3, "vehicle_local_position")
      .data(3, fields(12n, 9, 9, 9));
    for (let k = 1; k < 5; k++) log.data(3, fields(5n * second + BigInt(k) * second, k, 0, 0));
    const { received, stamped } = (await readLog([file(log.finish())], [estimate])).signals.get("vehicle_estimate")!;
    expect(Array.from(received.seconds)).toEqual([0, 1, 2, 3, 4]);
    expect(stamped!.epoch + BigInt(Math.round(stamped!.seconds[0]! * 1e9))).toBe(12_000n);
  });

  test("what a battery does not know is NaN, not 0 or -1", async () => {
    const log = new UlogBuilder()
      .format("battery_status:uint64_t timestamp;float voltage_v;float current_a;float remaining;")
      .subscribe(1, "battery_status")
      .data(1, fields(6n * second, 0, -1, -1))
      .data(1, fields(7n * second, 22.5, 14, 0.5))
      .finish();
    const { columns } = (await readLog([file(log)], [{ signal: "battery", topic: "battery_status" }])).signals.get(
      "battery",
    )!;
    expect([columns.voltage!, columns.current!, columns.percentage!].map((column) => [...column])).toEqual([
      [Number.NaN, 22.5],
      [Number.NaN, 14],
      [Number.NaN, 0.5],
    ]);
  });

  test("instances, nested formats, any topic through `fields`, and the span", async () => {
    const log = new UlogBuilder()
      .format("esc:float rpm;float load;")
      .format("escs:uint64_t timestamp;esc[2] esc;float[2] more;")
      .subscribe(1, "escs")
      .subscribe(2, "escs", 1);
    for (let k = 0; k < 4; k++)
      log
        .data(1, fields(BigInt(5 + k) * second, 1, 2, 3, 4, 5, 6))
        .data(2, fields(BigInt(5 + k) * second, 10, 20, 30 + k, 40, 50, 60));
    const path = file(log.finish());
    const { topics } = await surveyLog(path);
    expect(topics.map(({ topic, messages }) => [topic, messages])).toEqual([
      ["escs", 4],
      ["escs/1", 4],
    ]);
    const request = {
      signal: "effector_pose",
      topic: "escs/1",
      fields: { x: "esc[1].rpm", y: "more[1]", z: "esc[0].load" },
    } as const;
    const { columns } = (await readLog([path], [request], { span: [1, 3] })).signals.get("effector_pose")!;
    expect([[...columns.x!], [...columns.y!], [...columns.z!]]).toEqual([
      [31, 32],
      [60, 60],
      [20, 20],
    ]);
    const wrong = await readLog([path], [{ ...request, fields: { x: "esc[2].rpm", y: "more", z: "esc" } }]);
    expect(wrong.missing[0]!.message).toMatch(/field esc\[2\].rpm .*found no number there; there are esc\[0\].rpm/);
  });

  test("topics, types and kinds of request it cannot serve are reported with what there is", async () => {
    const path = file(flight().finish());
    const one = async (request: object) =>
      (await readLog([path], [{ signal: "vehicle_pose", topic: "", ...request }])).missing[0]!;
    expect(await one({ topic: "vehicle_local_positoin" })).toMatchObject({
      reason: "absent",
      hint: "did you mean vehicle_local_position?",
    });
    expect(await one({ topic: "vehicle_local_position", signal: "battery" })).toMatchObject({ reason: "wrong-type" });
    expect((await one({ columns: { t: "t", x: "x", y: "y", z: "z" } })).message).toContain(
      "found a ULog, expected a log with columns",
    );
    await expect(readLog([path, file(flight().finish())], [estimate])).rejects.toThrow(/each ULog|2 ULogs/);
  });

  test("a topic that another layout calls otherwise is not taken for one of a like name", async () => {
    // PX4: up to 1.13 TrajectorySetpoint went by vehicle_local_position_setpoint, and rates by sensor_combined
    const log = new UlogBuilder(1_000_000);
    const topics: readonly (readonly [string, string])[] = [
      ["battery_status", "float voltage_v;"],
      ["vehicle_local_position", "float x;float y;float z;"],
      ["vehicle_local_position_setpoint", "float x;float y;float z;float yaw;"],
      ["sensor_combined", "float[3] gyro_rad;"],
    ];
    for (const [id, [topic, format]] of topics.entries())
      log.format(`${topic}:uint64_t timestamp;${format}`).subscribe(id, topic);
    const path = file(log.finish());
    const hintOf = async (signal: "vehicle_setpoint" | "vehicle_rate" | "motors", topic: string) =>
      (await readLog([path], [{ signal, topic }])).missing[0]!.hint;
    expect(await hintOf("vehicle_setpoint", "trajectory_setpoint")).toBe(
      "did you mean vehicle_local_position_setpoint?",
    );
    expect(await hintOf("vehicle_rate", "vehicle_angular_velocity")).toBe("did you mean sensor_combined?");
    expect(await hintOf("motors", "actuator_motors")).toBe(
      "log actuator_motors or actuator_outputs on the next flight",
    );
  });

  test("data appended after the log was closed are read, whatever stands between", async () => {
    const before = flight(4).length;
    const log = new UlogBuilder()
      .flags(1, [before + 5])
      .format(positions)
      .parameter("float MC_ROLL_P", 6.5)
      .parameter("int32_t SYS_ID", 7);
    log.subscribe(3, "vehicle_local_position");
    for (let k = 0; k < 4; k++) log.data(3, fields(5n * second + BigInt(k) * 10_000n, k / 8, -1.5, 2));
    expect(log.length).toBe(before);
    log.raw(Buffer.from([7, 0, 0x44, 1, 2]));
    for (let k = 4; k < 6; k++) log.data(3, fields(5n * second + BigInt(k) * 10_000n, k / 8, -1.5, 2));
    expect(await x(log.finish())).toEqual(eighths(6));
  });
});

test("damage in the main part of a log with appended data is searched past, not skipped to the appended part", async () => {
  const build = (offset: number): UlogBuilder => {
    const log = new UlogBuilder().flags(1, [offset]).format(positions).subscribe(3, "vehicle_local_position");
    for (let k = 0; k < 60; k++) {
      if (k === 20) log.raw(Buffer.alloc(9, 0xee));
      log.data(3, fields(5n * second + BigInt(k) * 10_000n, k / 8, -1.5, 2));
    }
    return log;
  };
  const offset = build(1).length;
  const log = build(offset);
  for (let k = 60; k < 65; k++) log.data(3, fields(5n * second + BigInt(k) * 10_000n, k / 8, -1.5, 2));
  expect(await x(log.finish())).toEqual(eighths(65));
});

test("a topic whose format is lost is still named and counted", async () => {
  const log = new UlogBuilder().subscribe(3, "vehicle_local_position");
  for (let k = 0; k < 5; k++) log.data(3, fields(5n * second + BigInt(k), 1, 2, 3));
  const path = file(log.finish());
  expect((await surveyLog(path)).topics).toMatchObject([{ topic: "vehicle_local_position", messages: 5, start: null }]);
  const { missing } = await readLog([path], [estimate]);
  expect(missing[0]).toMatchObject({
    reason: "wrong-type",
    message: expect.stringContaining("in a version without position[0] or x"),
  });
});

describe("what is no readable ULog is refused in words", () => {
  test.each([
    ["the first bytes alone", Buffer.from("ULog"), /4 bytes without a whole ULog header/],
    ["damaged first bytes", Buffer.from("ULog\x01\x12\x36\x01........"), /damaged ULog header/],
    [
      "features nobody knows yet",
      flight(0)
        .finish()
        .fill(2, 16 + 3 + 8, 16 + 3 + 9),
      /features that are not known/,
    ],
  ])("%s", async (_, bytes, words) => {
    await expect(readLog([file(bytes)], [estimate])).rejects.toThrow(words);
    await expect(surveyLog(file(bytes))).rejects.toBeInstanceOf(LogError);
  });
});

describe("a damaged log gives what is left", () => {
  const whole = flight(200).finish();

  test("cut anywhere, it keeps the rows before the cut", async () => {
    for (let end = 16; end < whole.length; end += 37) {
      const found = await x(whole.subarray(0, end));
      expect(found).toEqual(eighths(found.length));
      // 25 bytes a row
      expect(found.length).toBeGreaterThanOrEqual(Math.floor((end - (whole.length - 200 * 25)) / 25));
    }
  }, 30_000);

  test("with a stretch of nonsense in the middle, it goes on behind it and says so", async () => {
    const at = whole.length - 100 * 25;
    const nonsense = Buffer.alloc(333, 0xee);
    const path = file(Buffer.concat([whole.subarray(0, at), nonsense, whole.subarray(at)]));
    const { signals, recovered } = await readLog([path], [estimate]);
    expect([...signals.get("vehicle_estimate")!.columns.x!]).toEqual(eighths(200));
    expect(recovered).toContain("333 byte(s) in 1 place(s) are no messages");
  });

  test("with bytes changed at random, it is read or refused in bounded time, never with a fault of the tool", async () => {
    const random = seededRandom(621);
    const started = performance.now();
    for (let k = 0; k < 300; k++) {
      const copy = Buffer.from(whole);
      const reach = k % 2 === 0 ? 400 : copy.length;
      for (let n = 0; n <= k % 6; n++) copy[Math.floor(reach * random.uniform())] = Math.floor(256 * random.uniform());
      const path = file(copy);
      try {
        const { signals } = await readLog([path], [estimate]);
        await surveyLog(path);
        expect(signals.get("vehicle_estimate")?.columns.x?.length ?? 0).toBeLessThanOrEqual(200);
      } catch (error) {
        expect(error).toBeInstanceOf(LogError);
      }
    }
    expect(performance.now() - started).toBeLessThan(20_000);
  }, 60_000);

  test.each([
    ["formats that hold themselves", "a:uint64_t timestamp;b inner;", "b:a inner;"],
    ["arrays longer than any message", "a:uint64_t timestamp;float[4000000000] x;", "b:float x;"],
    ["types that are not defined", "a:uint64_t timestamp;nothing x;", "b:float x;"],
    ["names that are no text", `a:uint64_t timestamp;float \xff\xfe;`, "b:float x;"],
  ])("%s are passed over", async (_, one, other) => {
    const log = new UlogBuilder()
      .format(one)
      .message("F", Buffer.from(other, "latin1"))
      .subscribe(1, "a")
      .data(1, fields(6n * second, 1, 2))
      .format(positions)
      .subscribe(3, "vehicle_local_position")
      .data(3, fields(6n * second, 1, 2, 3))
      .finish();
    expect(await x(log)).toEqual([1]);
    expect((await surveyLog(file(log))).topics.map(({ topic }) => topic)).toContain("vehicle_local_position");
  });

  test("what one flipped bit makes of a message is counted: another topic's, a longer one, a text", async () => {
    const log = flight(3);
    const own = fields(6n * second, 1, 2, 3);
    log.data(11, own).data(3, Buffer.concat([own, Buffer.alloc(5)]));
    log.message("L", Buffer.concat([Buffer.from([3, 0]), own]));
    const { recovered } = await readLog([file(log.finish())], [estimate]);
    expect(recovered).toBe(
      "1 message(s) are shorter or longer than their format: left out; " +
        "1 message(s) do not hold what their kind says: left out; " +
        "1 message(s) are of no topic that the log subscribed to: left out",
    );
    // with the padding that writers may leave out, four bytes, it is as long as its format
    const padded = flight(3).data(3, Buffer.concat([own, Buffer.alloc(4)]));
    expect((await readLog([file(padded.finish())], [estimate])).recovered).toBeNull();
  });

  test("a stamp that goes astray stays where it was logged, so that its topic's order tells", async () => {
    const log = flight(3)
      .data(3, fields(600n * second, 9, 9, 9))
      .data(3, fields(5n * second + 30_000n, 3 / 8, -1.5, 2))
      .finish();
    const { signals, end } = await readLog([file(log)], [estimate]);
    const signal = signals.get("vehicle_estimate")!;
    expect([...signal.columns.x!]).toEqual([0, 1 / 8, 2 / 8, 9, 3 / 8]);
    expect(end).toBe(600_000_000_000n);
    const { checks } = buildTimeline(signal, "header", defaultSettings);
    expect(checks.map(({ code, message }) => `${code}: ${message}`)).toEqual([
      expect.stringMatching(/^stamp-backward: 1 stamps of vehicle_local_position are earlier than the one before/),
    ]);
  });

  test("messages shorter than their format are counted", async () => {
    const log = flight(3)
      .data(3, fields(6n * second, 1))
      .finish();
    expect((await readLog([file(log)], [estimate])).recovered).toBe(
      "1 message(s) are shorter or longer than their format: left out",
    );
  });
});
