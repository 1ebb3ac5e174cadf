import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { inspectLog } from "../../../src/pipeline/inspectLog.ts";
import { readLog } from "../../../src/readers/readLog.ts";
import { type BagMessage, f64s, header, headerAndPose, str, u32, writeBag } from "../../support/writeBag.ts";
import { flightMessages } from "../flightBag.ts";
import { shortFlight } from "../shortCampaign.ts";

const folder = mkdtempSync(join(tmpdir(), "counterpoise-bodies-"));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** A type of a lab's own: nothing here knows it. */
const definition = `Header header
uint32 frame
Thing[] seen
================================================================================
MSG: lab_msgs/Thing
string label
float32 error
geometry_msgs/Vector3 velocity
geometry_msgs/Pose pose
================================================================================
MSG: geometry_msgs/Vector3
float64 x
float64 y
float64 z
${headerAndPose}`;

const flight = shortFlight(41);
const log = join(folder, "all.bag");
/** In these messages the first body is missing, and the second slides into its place. */
const isLost = (k: number): boolean => k >= 500 && k < 520;

beforeAll(() => {
  const [vehicle, tool] = (["vehicle_pose", "effector_pose"] as const).map(
    (name) => flight.signals.find(({ signal }) => signal === name)!,
  );
  const rest = flightMessages(flight).filter(({ topic }) => !topic.startsWith("/mocap"));
  const row = (columns: Readonly<Record<string, Float64Array>>, k: number): Buffer =>
    f64s(...["x", "y", "z", "qx", "qy", "qz", "qw"].map((name) => columns[name]![k]!));
  const thing = (label: string, pose: Buffer): Buffer =>
    Buffer.concat([str(label), Buffer.alloc(4), f64s(9, 8, 7), pose]);
  const bodies = flightMessages(flight)
    .filter(({ topic }) => topic === "/mocap/airframe")
    .map((message, k): BagMessage => {
      const { epoch, seconds } = vehicle!.stamped!;
      const at = epoch + BigInt(Math.round(seconds[k]! * 1e9));
      const things = [
        ...(isLost(k) ? [] : [thing("seven", row(vehicle!.columns, k))]),
        thing("five", row(tool!.columns, k)),
      ];
      return {
        topic: "/capture",
        type: "lab_msgs/Things",
        definition,
        received: message.received,
        data: Buffer.concat([
          header([Number(at / 1_000_000_000n), Number(at % 1_000_000_000n)], "arena", k),
          u32(k),
          u32(things.length),
          ...things,
        ]),
      };
    });
  const all = [...rest, ...bodies].sort((a, b) => a.received[0] - b.received[0] || a.received[1] - b.received[1]);
  writeBag(log, all, { perChunk: 2000 });
});

test("bodies of one message are found from its definition, and which is which by their motion", async () => {
  const { topics, manifest, summary } = await inspectLog(log);
  expect(topics.find(({ topic }) => topic === "/capture")!.bodies).toEqual(["five", "seven"]);
  expect(manifest).toContain("vehicle_pose: { topic: /capture, body: seven, clock: mocap }");
  expect(manifest).toContain("effector_pose: { topic: /capture, body: five, clock: mocap }");
  expect(summary.subjects).toEqual(["vehicle", "effector", "arm"]);
});

test("a body that drops out leaves a gap of its own, and the next does not slide into its place", async () => {
  const { signals, missing } = await readLog(
    [log],
    [
      { signal: "vehicle_pose", topic: "/capture", body: "seven" },
      { signal: "effector_pose", topic: "/capture", body: "five" },
      { signal: "vehicle_estimate", topic: "/capture", body: "six" },
    ],
  );
  const truth = flight.signals.find(({ signal }) => signal === "vehicle_pose")!.columns;
  const kept = (column: Float64Array): number[] => [...column].filter((_, k) => !isLost(k));
  // to the last digit: the same doubles
  for (const name of ["x", "z", "qy", "qw"])
    expect([...signals.get("vehicle_pose")!.columns[name]!]).toEqual(kept(truth[name]!));
  expect(signals.get("effector_pose")!.columns.x!.length).toBe(truth.x!.length);
  expect(missing).toMatchObject([{ signal: "vehicle_estimate", reason: "child" }]);
  expect(missing[0]!.message).toContain('found no body "six", only ');
});
