import { join } from "node:path";
import { expect, test } from "vitest";
import type { Recording } from "../../../src/foundation/recording.ts";
import { readLog } from "../../../src/readers/readLog.ts";
import { describeWith, missing as lacking, openLogs } from "../../support/available.ts";
import { runPython } from "../../support/run.ts";
import {
  type BagMessage,
  f32s,
  f64s,
  header,
  headerAndPose,
  str,
  u8,
  u16s,
  u32,
  writeBag,
} from "../../support/writeBag.ts";
import { start } from "./poses.ts";
import { temporaryFolder } from "./temporaryFolder.ts";

const folder = temporaryFolder();
let files = 0;

/** A type of our own: the swab arm's report, with a header, nested fields, arrays, text and whole numbers. */
const definition = `# what the swab arm says of itself
uint8 PARKED=0
uint8 EXTENDED=1
std_msgs/Header header
string tool  # text must not shift what follows
uint8 state
bool touching
int64 count
duration since
geometry_msgs/Pose tip
float32[] force
uint16[4] motors
geometry_msgs/Point[] path
${headerAndPose}`;

function report(i: number): BagMessage {
  const count = Buffer.alloc(8);
  count.writeBigInt64LE(BigInt(-i));
  const data = [
    header([start + i, 5], "arm_base"),
    str("swab".repeat(i)),
    u8(1),
    u8(i % 2),
    count,
    u32(i),
    u32(500_000_000),
    f64s(i, 2 * i, 3 * i, 0, 0, 0, 1),
    u32(2),
    f32s(0.1, i + 0.5),
    u16s(1000, 1100, 1200, 1300 + i),
    u32(i),
    f64s(...Array.from({ length: 3 * i }, (_, k) => k)),
  ];
  return {
    topic: "/arm/report",
    type: "tank_wall/SwabArm",
    md5: "1".repeat(32),
    definition,
    received: [start + i, 0],
    data: Buffer.concat(data),
  };
}

async function read(fields: Record<string, string>, messages = [0, 1, 2].map(report)): Promise<Recording> {
  const path = join(folder, `fields-${files++}.bag`);
  writeBag(path, messages);
  return readLog([path], [{ signal: "effector_pose", topic: "/arm/report", fields }]);
}

test("numbers of an unknown type are found by the paths the manifest names, and become doubles", async () => {
  const { signals } = await read({
    x: "tip.position.x",
    z: "tip.position.z",
    qw: "tip.orientation.w",
    force: "force[1]",
    first: "force.0",
    motor: "motors[3]",
    touching: "touching",
    count: "count",
    since: "since",
    path: "path[1].z",
  });
  const signal = signals.get("effector_pose")!;
  const nan = Number.NaN;
  // 0.1 in single precision is this double (IEEE 754: the nearest binary32, exactly 13421773 / 2^27)
  const tenth = 13_421_773 / 2 ** 27;
  expect(signal.columns).toEqual({
    x: Float64Array.of(0, 1, 2),
    z: Float64Array.of(0, 3, 6),
    qw: Float64Array.of(1, 1, 1),
    force: Float64Array.of(0.5, 1.5, 2.5),
    first: Float64Array.of(tenth, tenth, tenth),
    motor: Float64Array.of(1300, 1301, 1302),
    touching: Float64Array.of(0, 1, 0),
    count: Float64Array.of(-0 + 0, -1, -2),
    since: Float64Array.of(0.5, 1.5, 2.5),
    path: Float64Array.of(nan, nan, 5),
  });
  expect(signal.frameId).toBe("arm_base");
  expect(signal.stamped!.seconds).toEqual(Float64Array.of(5e-9, 1 + 5e-9, 2 + 5e-9));
});

test("a field that is not there: the fields there are are named, nearest first", async () => {
  const { missing } = await read({ x: "tip.positon.x" });
  expect(missing[0]).toMatchObject({ reason: "wrong-type", hint: "did you mean tip.position.x?" });
  expect(missing[0]!.message).toMatch(/tip\.positon\.x \(column x\) of tank_wall\/SwabArm: found no field "positon"/);
  expect(missing[0]!.message).toMatch(/there are tip\.position\.x, .*force\[0\]/);
  expect(missing[0]!.message).not.toMatch(/PARKED|tool,/);
});

test("a path that ends in text, a group or a whole array is refused, and so is an element that is never there", async () => {
  const found = async (path: string): Promise<string> => (await read({ x: path })).missing[0]!.message;
  expect(await found("tool")).toMatch(/found text/);
  expect(await found("tip.position")).toMatch(/found a group of fields/);
  expect(await found("force")).toMatch(/found an array without an element/);
  expect(await found("path.x")).toMatch(/found an array at path/);
  expect(await found("state[0]")).toMatch(/found no array before element 0/);
  expect(await found("state.x")).toMatch(/found no part "x" in uint8 state/);
  expect(await found("PARKED")).toMatch(/found no field "PARKED"/);
  expect(await found("")).toMatch(/found no field ""/);
  expect(await found("force[7]")).toMatch(/no message of tank_wall\/SwabArm with an element at force\[7\]/);
});

test("a message too short for its definition is dropped and counted", async () => {
  const messages = [report(0), { ...report(1), data: report(1).data.subarray(0, 60) }, report(2)];
  const { signals, recovered } = await read({ x: "tip.position.x" }, messages);
  expect(signals.get("effector_pose")!.columns.x).toEqual(Float64Array.of(0, 2));
  expect(recovered).toMatch(/1 message\(s\) are no whole tank_wall\/SwabArm/);
});

test("an array length that no message can have costs nothing", async () => {
  const data = Buffer.from(report(0).data);
  data.writeUInt32LE(0xffff_fff0, data.length - 4);
  const { missing } = await read({ x: "tip.position.x" }, [{ ...report(0), data }]);
  expect(missing[0]).toMatchObject({ reason: "empty" });
});

test("a definition that cannot be read is said so", async () => {
  const { missing } = await read({ x: "x" }, [{ ...report(0), definition: "float64 ][ = x" }]);
  expect(missing[0]!.message).toMatch(/definition of tank_wall\/SwabArm cannot be read/);
});

test("a type that holds itself has no end of fields: only some are listed", async () => {
  const tree = `${"=".repeat(80)}\nMSG: tank_wall/Node\n${Array.from({ length: 12 }, (_, i) => `Node[] n${i}\nfloat64 x${i}`).join("\n")}\n`;
  const { missing } = await read({ x: "nodes[0].y" }, [
    { ...report(0), definition: `tank_wall/Node[] nodes\n${tree}` },
  ]);
  expect(missing[0]!.message).toMatch(/found no field "y", expected a number; there are nodes\[0\]\.x0, /);
});

test("fields are stronger than what is known by heart", async () => {
  const path = join(folder, "strong.bag");
  const message = { ...report(2), type: "geometry_msgs/PoseStamped", md5: "d3812c3cbc69362b77dc0b19b345f8f5" };
  writeBag(path, [message]);
  const { signals } = await readLog(
    [path],
    [{ signal: "vehicle_pose", topic: "/arm/report", fields: { x: "tip.position.y" } }],
  );
  expect(signals.get("vehicle_pose")!.columns).toEqual({ x: Float64Array.of(4) });
});

describeWith(["rosbag", "open-logs"], "fields of real messages equal the reference implementation", () => {
  const file = (name: string): string => (lacking("open-logs") === null ? join(openLogs(), "ros1", name) : "");
  const cases = [
    ["turtlesim/example-lz4.bag", "/turtle1/pose", ["x", "y", "theta"]],
    ["odometry-bz2/test1.bag", "/imu/data", ["linear_acceleration.z", "orientation.w", "orientation_covariance[4]"]],
    ["odometry-lz4/test.bag", "/base_scan", ["ranges[3]", "angle_min", "header.seq"]],
    ["frontal-weight/exp_1_2_1_W0_1.bag", "/neptune/neptune/vrpn_client/estimated_odometry", ["twist.twist.linear.x"]],
  ] as const;
  for (const [name, topic, paths] of cases) {
    test(`${name} ${topic}`, async () => {
      const path = file(name);
      const expected = runPython<number[][]>(
        `import json, sys, re, rosbag
request = json.load(sys.stdin)
def follow(m, path):
    for step in re.sub(r'\\[(\\d+)\\]', r'.\\1', path).split('.'):
        m = m[int(step)] if step.isdigit() else getattr(m, step)
    return float(m)
with rosbag.Bag(request['path']) as bag:
    rows = [[follow(m, p) for p in request['paths']] for _, m, _ in bag.read_messages(topics=[request['topic']])]
print(json.dumps(rows))`,
        { path, topic, paths },
      );
      const fields = Object.fromEntries(paths.map((each, i) => [`c${i}`, each]));
      const { signals } = await readLog([path], [{ signal: "vehicle_estimate", topic, fields }]);
      const { columns } = signals.get("vehicle_estimate")!;
      for (let i = 0; i < paths.length; i++)
        expect(columns[`c${i}`]).toEqual(Float64Array.from(expected, (row) => row[i]!));
    });
  }
});
