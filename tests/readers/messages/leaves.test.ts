import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { parse } from "@foxglove/rosmsg";
import { MessageWriter } from "@foxglove/rosmsg2-serialization";
import { expect, test } from "vitest";
import { runCli } from "../../../src/cli/runCli.ts";
import type { LogInspection } from "../../../src/contract/inspection.ts";
import { readLeaves, readLog } from "../../../src/readers/readLog.ts";
import { capturedTerminal } from "../../cli/captured.ts";
import { f64s, header, writeBag } from "../../support/writeBag.ts";
import { buildMcap } from "../mcap/buildMcap.ts";
import { temporaryFolder } from "../rosbag/temporaryFolder.ts";
import { fields, UlogBuilder } from "../ulog/buildUlog.ts";

const folder = temporaryFolder();

// a package of a lab's own: nobody knows its types by heart, and the recorder stored no definitions
const body = "string name\ngeometry_msgs/Pose pose\nfloat32[] marker_errors\n";
const bodies = "std_msgs/Header header\nuint32 frame\nBody[] bodies\n";
const geometry =
  "MSG: geometry_msgs/Pose\ngeometry_msgs/Point position\ngeometry_msgs/Quaternion orientation\n===\nMSG: geometry_msgs/Point\nfloat64 x\nfloat64 y\nfloat64 z\n===\nMSG: geometry_msgs/Quaternion\nfloat64 x\nfloat64 y\nfloat64 z\nfloat64 w\n";
const whole = `${bodies}===\nMSG: rig_msgs/Body\n${body}===\n${geometry}===\nMSG: std_msgs/Header\nbuiltin_interfaces/Time stamp\nstring frame_id\n===\nMSG: builtin_interfaces/Time\nint32 sec\nuint32 nanosec\n`;
mkdirSync(join(folder, "msgs/rig_msgs/msg"), { recursive: true });
writeFileSync(join(folder, "msgs/rig_msgs/msg/Body.msg"), body);
writeFileSync(join(folder, "msgs/rig_msgs/msg/Bodies.msg"), bodies);

/** Two bodies, of which the second moves; serialised by the format's own library from the definition the file does not hold. */
async function bareLog(): Promise<string> {
  const writer = new MessageWriter(parse(whole, { ros2: true }));
  const pose = (x: number) => ({ position: { x, y: 2, z: 3 }, orientation: { x: 0, y: 0, z: 0, w: 1 } });
  const messages = Array.from({ length: 30 }, (_, k) => ({
    topic: "/rig",
    type: "rig_msgs/msg/Bodies",
    logTime: 1_700_000_000_000_000_000n + BigInt(k) * 10_000_000n,
    definition: "",
    data: writer.writeMessage({
      header: { stamp: { sec: 1_700_000_000, nanosec: k * 10_000_000 }, frame_id: "room" },
      frame: 100 + k,
      bodies: [
        { name: "box", pose: pose(-1), marker_errors: [] },
        { name: "hexa", pose: pose(k / 8), marker_errors: [0.5] },
      ],
    }),
  }));
  const path = join(folder, "bare.mcap");
  writeFileSync(path, await buildMcap(messages));
  return path;
}

async function inspect(...args: string[]) {
  const terminal = capturedTerminal();
  const code = await runCli(["inspect", ...args], terminal);
  return { code, out: terminal.stdout(), error: terminal.stderr() };
}

test("a log without definitions is read by those of a folder: its numbers, its bodies, and a draft that names the folder", async () => {
  const log = await bareLog();
  const definitions = [join(folder, "msgs")];
  const { leaves, type } = await readLeaves(log, "/rig", { definitions });
  expect(type).toBe("rig_msgs/msg/Bodies");
  const of = (path: string) => leaves.find((leaf) => leaf.path === path)?.values;
  expect(of("frame")).toEqual([100, 101, 102]);
  expect(of("bodies[1].pose.position.x")).toEqual([0, 0.125, 0.25]);
  expect(of("bodies[1].marker_errors[0]")).toEqual([0.5, 0.5, 0.5]);
  expect(of("header.stamp")![1]).toBeCloseTo(1_700_000_000.01, 6);
  // what is printed is what `fields` takes
  const x = "bodies[1].pose.position.x";
  const request = { signal: "vehicle_pose", topic: "/rig", fields: { x, y: x, z: x } } as const;
  const { signals, missing } = await readLog([log], [request], { definitions });
  expect(missing).toEqual([]);
  expect([...signals.get("vehicle_pose")!.columns.x!].slice(0, 3)).toEqual([0, 0.125, 0.25]);
  const found = JSON.parse((await inspect(log, "--json", "--definitions", join(folder, "msgs"))).out) as LogInspection;
  expect(found.topics[0]!.bodies).toEqual(["box", "hexa"]);
  expect(found.manifest).toMatch(/^definitions: \[.*msgs\]$/m);
});

test("without the folder the topic's definition is asked for, and a folder without any is refused", async () => {
  const log = await bareLog();
  expect(await inspect(log, "/rig")).toMatchObject({
    code: 2,
    error: expect.stringMatching(/found no definition of rig_msgs\/msg\/Bodies[\s\S]*--definitions msgs\//),
  });
  mkdirSync(join(folder, "empty"), { recursive: true });
  expect(await inspect(log, "/rig", "--definitions", join(folder, "empty"))).toMatchObject({
    code: 2,
    error: expect.stringContaining("found no .msg file"),
  });
});

test("inspect LOG TOPIC prints the numbers of a bag's and of a ULog's topic, and names topics near a wrong one", async () => {
  const bag = join(folder, "one.bag");
  const message = (k: number) => ({
    topic: "/mocap/airframe",
    type: "geometry_msgs/PointStamped",
    definition:
      "Header header\ngeometry_msgs/Point point\n===\nMSG: geometry_msgs/Point\nfloat64 x\nfloat64 y\nfloat64 z\n===\nMSG: std_msgs/Header\nuint32 seq\ntime stamp\nstring frame_id\n",
    received: [1_700_000_000 + k, 0] as const,
    data: Buffer.concat([header([1_700_000_000 + k, 0]), f64s(k, 2, 3)]),
  });
  writeBag(bag, [message(1), message(2)]);
  const { code, out } = await inspect(bag, "/mocap/airframe");
  expect(code).toBe(0);
  expect(out).toMatch(/^\/mocap\/airframe \(geometry_msgs\/PointStamped\)\n\s+first\s+second\n/);
  expect(out).toMatch(/^ {2}point\.x\s+1\s+2$/m);
  expect(await inspect(bag, "/mocap/airfrme")).toMatchObject({
    code: 2,
    error: expect.stringContaining("did you mean /mocap/airframe?"),
  });
  expect((await inspect(folder, "/mocap/airframe")).code).toBe(2);
  expect((await inspect(bag, "/mocap/airframe", "--draft", join(folder, "x.yaml"))).code).toBe(2);

  const ulog = join(folder, "one.ulg");
  const builder = new UlogBuilder()
    .format("rig:uint64_t timestamp;float[2] place;float count;")
    .subscribe(0, "rig")
    .data(0, fields(6_000_000n, 0.5, -0.25, 7));
  writeFileSync(ulog, builder.finish());
  const found = await readLeaves(ulog, "rig");
  expect(Object.fromEntries(found.leaves.map(({ path, values }) => [path, values[0]]))).toEqual({
    timestamp: 6_000_000,
    "place[0]": 0.5,
    "place[1]": -0.25,
    count: 7,
  });
});
