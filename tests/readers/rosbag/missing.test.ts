import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import type { Recording, SignalRequest } from "../../../src/foundation/recording.ts";
import { readLog, surveyLog } from "../../../src/readers/readLog.ts";
import { type BagMessage, type BagOptions, f64s, header, str, u8, u32, writeBag } from "../../support/writeBag.ts";
import { counted, poseStamped, poses, start } from "./poses.ts";
import { temporaryFolder } from "./temporaryFolder.ts";

const folder = temporaryFolder();
let files = 0;

async function read(
  messages: readonly BagMessage[],
  request: SignalRequest,
  options: BagOptions & { span?: readonly [number, number] } = {},
): Promise<Recording> {
  const path = join(folder, `missing-${files++}.bag`);
  writeBag(path, messages, options);
  return readLog([path], [request], options.span === undefined ? {} : { span: options.span });
}

const airframe = { signal: "vehicle_pose", topic: "/mocap/airframe" } as const;

test("a topic that is not there: the message lists the topics there are, nearest first", async () => {
  const log = [...poses(2), ...poses(2, { topic: "/mocap/tool" }), ...poses(2, { topic: "/imu" })];
  const { missing } = await read(log, { signal: "vehicle_pose", topic: "/mocap/airfame" });
  expect(missing).toEqual([
    {
      signal: "vehicle_pose",
      topic: "/mocap/airfame",
      reason: "absent",
      message: "vehicle_pose: found no topic /mocap/airfame; there are /mocap/airframe, /mocap/tool, /imu",
      hint: "did you mean /mocap/airframe?",
    },
  ]);
});

test("a topic is found with and without its leading slash", async () => {
  const log = poses(3, { topic: "mocap/airframe" });
  expect((await read(log, airframe)).signals.get("vehicle_pose")!.columns.x).toEqual(counted(3));
});

test("a bag with no messages: no start, no end, every request missing, nothing recovered", async () => {
  const recording = await read([], airframe);
  expect([recording.start, recording.end, recording.recovered]).toEqual([null, null, null]);
  expect(recording.missing.map(({ reason }) => reason)).toEqual(["absent"]);
  const survey = await surveyLog(recording.files[0]!);
  expect([survey.start, survey.messages, survey.topics]).toEqual([null, 0, []]);
});

test("a span without a message of the topic is empty, and says how many lie outside", async () => {
  const { missing } = await read(poses(20), airframe, { span: [5, 9] });
  expect(missing[0]).toMatchObject({ reason: "empty" });
  expect(missing[0]!.message).toMatch(/none of its 20 message\(s\) was received from 5 s to 9 s/);
});

test("a type that cannot give the signal: both are named, and so is the way out", async () => {
  const { missing } = await read(poses(2), { signal: "battery", topic: "/mocap/airframe" });
  expect(missing[0]).toMatchObject({ reason: "wrong-type" });
  expect(missing[0]!.message).toMatch(
    /found type geometry_msgs\/PoseStamped, expected one of sensor_msgs\/BatteryState/,
  );
  expect(missing[0]!.hint).toMatch(/fields/);
});

test("a known type in an unknown version is not decoded by heart", async () => {
  const log = poses(2).map((pose) => ({ ...pose, md5: "0123456789abcdef0123456789abcdef" }));
  expect((await read(log, airframe)).missing[0]!.message).toMatch(
    /a version that is not known \(md5sum 0123456789abcdef/,
  );
});

test("a setpoint type cannot pass for a measured pose", async () => {
  const log = poses(2).map((pose) => ({ ...pose, type: "mavros_msgs/PositionTarget" }));
  expect((await read(log, airframe)).missing[0]).toMatchObject({ reason: "wrong-type" });
});

test("several publishers of one topic are one signal in order of receipt", async () => {
  const log = poses(20).map((pose, i) => ({ ...pose, publisher: i % 2 === 0 ? "/left" : "/right" }));
  const { signals } = await read(
    [...log.filter((_, i) => i % 2 === 1), ...log.filter((_, i) => i % 2 === 0)],
    airframe,
  );
  expect(signals.get("vehicle_pose")!.columns.x).toEqual(counted(20));
});

const text = (received: readonly [number, number], topic = "/mocap/airframe"): BagMessage => ({
  topic,
  type: "std_msgs/String",
  md5: "992ce8a1687cec8c8bd883ec73ca41d1",
  received,
  data: str("hello"),
});

test("a topic with two types serves where one of them can, and the other is named", async () => {
  const { signals, recovered } = await read([...poses(3), text([start + 5, 0])], airframe);
  expect(signals.get("vehicle_pose")!.columns.x).toEqual(counted(3));
  expect(recovered).toMatch(/also carries 1 message\(s\) of std_msgs\/String, which are not read/);
});

test("a topic with two types that both could serve is refused: which was meant cannot be known", async () => {
  const point = { type: "geometry_msgs/PointStamped", md5: "c63aecb41bfdfd6b7e1fac37c7cbe7bf" };
  const other: BagMessage = {
    topic: "/mocap/airframe",
    ...point,
    received: [start + 4, 0],
    data: Buffer.concat([header([start, 0]), f64s(1, 2, 3)]),
  };
  const { missing } = await read([...poses(3), other], airframe);
  expect(missing[0]).toMatchObject({ reason: "wrong-type" });
  expect(missing[0]!.message).toMatch(/PoseStamped.*and geometry_msgs\/PointStamped/);
});

test("messages too short for their type are dropped and counted", async () => {
  const log = poses(10).map((pose, i) => (i % 5 === 2 ? { ...pose, data: pose.data.subarray(0, 40 + i) } : pose));
  const { signals, recovered } = await read(log, airframe);
  expect([...signals.get("vehicle_pose")!.columns.x!]).toEqual([0, 1, 3, 4, 5, 6, 8, 9]);
  expect(recovered).toMatch(/2 message\(s\) are no whole geometry_msgs\/PoseStamped/);
});

test("a header that claims a frame_id longer than the message is a short message, not a long read", async () => {
  const bad = Buffer.concat([u32(0), u32(start), u32(0), u32(0xffff_fff0), f64s(1, 2, 3, 0, 0, 0, 1)]);
  const { missing } = await read([{ ...poses(1)[0]!, data: bad }], airframe);
  expect(missing[0]).toMatchObject({ reason: "empty" });
});

test("a latched single message is one row", async () => {
  const log = poses(1).map((pose) => ({ ...pose, latching: true }));
  expect((await read(log, airframe)).signals.get("vehicle_pose")!.received.seconds).toEqual(Float64Array.of(0));
});

test("frame ids of any length and alphabet, and bytes that are no text, do not move the numbers", async () => {
  for (const frame of ["", "w".repeat(3000), "Prüfstand-塔", Uint8Array.of(0xff, 0xfe, 0x41)]) {
    const { signals } = await read(poses(4, { frame }), airframe);
    const signal = signals.get("vehicle_pose")!;
    expect(signal.columns.x).toEqual(counted(4));
    expect(signal.frameId).toBe(typeof frame === "string" ? frame : "\ufffd\ufffdA");
  }
});

test("topics of any alphabet are found", async () => {
  const topic = "/prüfstand/塔";
  expect((await read(poses(4, { topic }), { ...airframe, topic })).signals.get("vehicle_pose")!.columns.x).toEqual(
    counted(4),
  );
});

test("stamps of another epoch than the receipt keep their nanoseconds", async () => {
  const log = poses(3).map((pose, i) => ({
    ...pose,
    data: Buffer.concat([header([12, 345_678_901 + i], "arena"), pose.data.subarray(21)]),
  }));
  const { stamped } = (await read(log, airframe)).signals.get("vehicle_pose")!;
  expect(stamped).toEqual({ epoch: 12_345_678_901n, seconds: Float64Array.of(0, 1e-9, 2e-9) });
});

test("zero stamps are NaN and counted; one stray stamp does not set the epoch", async () => {
  const stamps: [number, number][] = [
    [0, 0],
    [7, 0],
    [start + 1, 500_000_000],
    [start + 2, 0],
    [0, 0],
  ];
  const log = poses(5).map((pose, i) => ({
    ...pose,
    data: Buffer.concat([header(stamps[i]!, "arena"), pose.data.subarray(21)]),
  }));
  const signal = (await read(log, airframe)).signals.get("vehicle_pose")!;
  expect(signal.zeroStamps).toBe(2);
  expect(signal.stamped!.epoch).toBe(BigInt(start + 1) * 1_000_000_000n);
  expect(signal.stamped!.seconds).toEqual(Float64Array.of(Number.NaN, 6 - start, 0.5, 1, Number.NaN));
});

const tree = { type: "tf2_msgs/TFMessage", md5: "94810edda583a504dfda3829e70d7eec" };
function transforms(entries: readonly (readonly [parent: string, child: string, x: number])[], i = 0): BagMessage {
  const each = entries.map(([parent, child, x]) =>
    Buffer.concat([header([start + 1, i], parent), str(child), f64s(x, 0, 0, 0, 0, 0, 1)]),
  );
  return { topic: "/tf", ...tree, received: [start + 1, i], data: Buffer.concat([u32(each.length), ...each]) };
}
const inTree = { signal: "vehicle_pose", topic: "/tf" } as const;

test("the one child of a transform tree serves without being named; of several none does", async () => {
  const one = await read([transforms([["map", "tool", 1]]), transforms([["/map", "/tool", 2]], 1)], inTree);
  expect(one.signals.get("vehicle_pose")!.columns.x).toEqual(Float64Array.of(1, 2));
  const two = await read(
    [
      transforms([
        ["map", "tool", 1],
        ["map", "base", 2],
      ]),
    ],
    inTree,
  );
  expect(two.missing[0]).toMatchObject({ reason: "child", hint: "say which: child: tool" });
  expect(two.missing[0]!.message).toMatch(/2 child frames \(base, tool\)/);
});

test("a child that is not in the tree: the children there are are listed", async () => {
  const { missing } = await read(
    [
      transforms([
        ["map", "tool", 1],
        ["map", "base", 2],
      ]),
    ],
    { ...inTree, child: "tip" },
  );
  expect(missing[0]).toMatchObject({ reason: "child" });
  expect(missing[0]!.message).toMatch(/no transform of child frame "tip", only of base, tool/);
});

test("a child with two parents is refused: the two are different places", async () => {
  const log = [transforms([["map", "tool", 1]]), transforms([["odom", "tool", 9]], 1)];
  const { missing } = await read(log, { ...inTree, child: "tool" });
  expect(missing[0]!.message).toMatch(/"tool" in "map" and in "odom", expected one parent/);
});

test("an array that claims more transforms than the message has bytes ends where the message ends", async () => {
  const good = transforms([["map", "tool", 1]]);
  const data = Buffer.from(good.data);
  data.writeUInt32LE(0xffff_ffff, 0);
  const { signals, recovered } = await read([{ ...good, data }], inTree);
  expect(signals.get("vehicle_pose")!.columns.x).toEqual(Float64Array.of(1));
  expect(recovered).toMatch(/1 message\(s\)/);
});

function joints(names: readonly string[], positions: readonly number[], i = 0): BagMessage {
  const data = [
    header([start, i]),
    u32(names.length),
    ...names.map((name) => str(name)),
    u32(positions.length),
    f64s(...positions),
    u32(0),
    u32(0),
  ];
  return {
    topic: "/arm/joints",
    type: "sensor_msgs/JointState",
    md5: "3066dcd76a6cfaef579bd0f34173e9fd",
    received: [start, i],
    data: Buffer.concat(data),
  };
}
const elbow = { signal: "arm_phase", topic: "/arm/joints" } as const;

test("a joint is found by name wherever it stands; without a position it is NaN", async () => {
  const log = [
    joints(["elbow", "wrist"], [1, 2]),
    joints(["wrist", "elbow"], [3, 4], 1),
    joints(["wrist", "elbow"], [5], 2),
  ];
  const { signals } = await read([...log, joints(["wrist"], [6], 3)], { ...elbow, joint: "elbow" });
  expect(signals.get("arm_phase")!.columns).toEqual({ value: Float64Array.of(1, 4, Number.NaN) });
});

test("a joint that is not there, or not named among several: the joints are listed", async () => {
  const log = [joints(["elbow", "wrist"], [1, 2])];
  const wrong = await read(log, { ...elbow, joint: "elbo" });
  expect(wrong.missing[0]).toMatchObject({ reason: "child", hint: "did you mean joint: elbow?" });
  expect((await read(log, elbow)).missing[0]!.message).toMatch(/found 2 joints \(elbow, wrist\), expected one/);
  expect((await read([joints(["slide"], [7])], elbow)).signals.get("arm_phase")!.columns.value).toEqual(
    Float64Array.of(7),
  );
});

function target(frame: number, mask: number, i: number): BagMessage {
  const mavros = { type: "mavros_msgs/PositionTarget", md5: "dedb0081aaf8cb20209737746bb49117" };
  const yaw = Buffer.alloc(8);
  yaw.writeFloatLE(0.25, 0);
  const maskBytes = Buffer.from([mask & 255, mask >> 8]);
  const data = Buffer.concat([header([start, i + 1]), u8(frame), maskBytes, f64s(1, 2, 3, 0, 0, 0, 0, 0, 0), yaw]);
  return { topic: "/target", ...mavros, received: [start, i + 1], data };
}

test("a masked axis is NaN and not given, never 0; so is everything in an offset or body frame", async () => {
  // 3576 = all but position: velocity, acceleration, force and yaw rate; 1024 = yaw; 4 = z (MAVLink POSITION_TARGET_TYPEMASK)
  const log = [target(1, 0, 0), target(1, 1024 | 4, 1), target(8, 0, 2), target(1, 3, 3)];
  const signal = (await read(log, { signal: "vehicle_setpoint", topic: "/target" })).signals.get("vehicle_setpoint")!;
  const nan = Number.NaN;
  expect(signal.columns).toEqual({
    x: Float64Array.of(1, 1, nan, nan),
    y: Float64Array.of(2, 2, nan, nan),
    z: Float64Array.of(3, nan, nan, 3),
    yaw: Float64Array.of(0.25, nan, nan, 0.25),
    coordinate_frame: Float64Array.of(1, 1, 8, 1),
  });
  expect(signal.given).toEqual({
    x: Uint8Array.of(1, 1, 0, 0),
    y: Uint8Array.of(1, 1, 0, 0),
    z: Uint8Array.of(1, 0, 0, 1),
    yaw: Uint8Array.of(1, 0, 0, 1),
  });
});

test("a chunk nobody asks for is not read: damage in it goes unseen, and only there", async () => {
  const other = poses(10, { topic: "/other", first: 100 }).map((pose) => ({ ...pose, ...poseStamped }));
  const path = join(folder, "unread.bag");
  const bag = writeBag(path, [...poses(10), ...other]);
  bag.bytes.fill(0xff, bag.dataPositions[1]!, bag.dataPositions[1]! + 50);
  writeFileSync(path, bag.bytes);
  expect((await readLog([path], [airframe])).recovered).toBeNull();
  expect((await readLog([path], [{ signal: "vehicle_estimate", topic: "/other" }])).recovered).toMatch(/lost 10 of 10/);
});
