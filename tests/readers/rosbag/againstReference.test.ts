import { readdirSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import type { RecordedSignal } from "../../../src/foundation/recording.ts";
import type { SignalName } from "../../../src/foundation/tracks.ts";
import { rosbagReader } from "../../../src/readers/rosbag/rosbagReader.ts";
import { describeWith, missing, openLogs } from "../../support/available.ts";
import { asked } from "./asked.ts";
import { type Reference, readWithReference, writeWithReference } from "./reference.ts";
import { temporaryFolder } from "./temporaryFolder.ts";

function base64(values: Float64Array): string {
  return Buffer.from(values.buffer, values.byteOffset, values.byteLength).toString("base64");
}

/** Every column, receipt and stamp of a signal equals the reference bit for bit: both round once to double. */
function expectSame(signal: RecordedSignal, reference: Reference, topic: string): void {
  const expected = reference.topics[topic]!;
  expect(signal.type).toBe(expected.type);
  expect(signal.received.epoch).toBe(BigInt(reference.start!));
  expect(base64(signal.received.seconds)).toBe(expected.received);
  expect(Object.keys(signal.columns).sort()).toEqual(Object.keys(expected.columns).sort());
  for (const [name, values] of Object.entries(signal.columns))
    expect({ name, bits: base64(values) }).toEqual({ name, bits: expected.columns[name] });
  if (expected.stamps === null) expect(signal.stamped).toBeNull();
  else {
    const { epoch, seconds } = signal.stamped!;
    const exact = expected.stamps.map((stamp) => (stamp === "0" ? Number.NaN : Number(BigInt(stamp) - epoch) / 1e9));
    expect(base64(seconds)).toBe(base64(Float64Array.from(exact)));
    expect(signal.zeroStamps).toBe(expected.stamps.filter((stamp) => stamp === "0").length);
  }
}

describeWith(["rosbag"], "every type known by heart equals the reference implementation bit for bit", () => {
  const folder = temporaryFolder();
  const bags = [
    { compression: "none", seed: 11, backwards: false },
    { compression: "lz4", seed: 12, backwards: false },
    { compression: "bz2", seed: 13, backwards: false },
    { compression: "none", seed: 14, backwards: true },
  ] as const;
  for (const { compression, seed, backwards } of bags) {
    const path = join(folder, `${compression}-${seed}.bag`);
    test(`in a bag packed with ${compression}${backwards ? ", its chunks in falling order of time" : ""}`, async () => {
      const reference = writeWithReference({ path, compression, seed, count: 150, backwards });
      for (const [topic, request] of Object.entries(asked)) {
        const { signals, missing: lacking, recovered } = await rosbagReader.read([path], [{ ...request, topic }], {});
        expect({ topic, lacking, recovered }).toEqual({ topic, lacking: [], recovered: null });
        expectSame(signals.get(request.signal)!, reference, topic);
      }
      const survey = await rosbagReader.survey(path);
      expect(Object.fromEntries(survey.topics.map(({ topic, messages }) => [topic, messages]))).toEqual(
        Object.fromEntries(Object.entries(reference.topics).map(([topic, { count }]) => [topic, count])),
      );
      expect(survey.topics.find(({ topic }) => topic === "/tf")!.children).toEqual([
        "/tool",
        "base",
        "elbow_ä",
        "tool",
      ]);
      expect(survey.compression).toEqual([compression]);
    });
  }

  test("reading several signals at once gives what reading each alone gives", async () => {
    const path = join(folder, "none-11.bag");
    const requests = ["/pose", "/target", "/tf", "/imu", "/battery"].map((topic) => ({ ...asked[topic]!, topic }));
    const together = await rosbagReader.read([path], requests, {});
    for (const request of requests) {
      const alone = await rosbagReader.read([path], [request], {});
      expect(together.signals.get(request.signal)).toEqual(alone.signals.get(request.signal));
    }
  });

  test("a span keeps the messages received in [start, end) and no other", async () => {
    const path = join(folder, "none-14.bag");
    const all = (await rosbagReader.read([path], [{ signal: "vehicle_pose", topic: "/pose" }], {})).signals.get(
      "vehicle_pose",
    )!;
    const times = all.received.seconds;
    const span = [times[20]!, times[70]!] as const;
    const some = (await rosbagReader.read([path], [{ signal: "vehicle_pose", topic: "/pose" }], { span })).signals.get(
      "vehicle_pose",
    )!;
    expect(some.received.seconds).toEqual(times.slice(20, 70));
    expect(some.columns.x).toEqual(all.columns.x!.slice(20, 70));
  });

  test("the parts of a split recording are joined in order of receipt, in whatever order they are given", async () => {
    const paths = [join(folder, "none-11.bag"), join(folder, "lz4-12.bag")];
    const reference = readWithReference(paths);
    for (const order of [paths, [...paths].reverse()]) {
      const { signals, files } = await rosbagReader.read(order, [{ signal: "vehicle_pose", topic: "/bare/pose" }], {});
      expect(files).toEqual(order);
      const signal = signals.get("vehicle_pose")!;
      expect(signal.received.seconds.length).toBe(300);
      // Both bags have messages at the same instants in places; sorted values are free of that order.
      expect([...signal.received.seconds]).toEqual([...signal.received.seconds].sort((a, b) => a - b));
      expect([...signal.columns.qw!].sort()).toEqual(
        [...toDoubles(reference.topics["/bare/pose"]!.columns.qw!)].sort(),
      );
    }
  });
});

function toDoubles(text: string): Float64Array {
  const bytes = Buffer.from(text, "base64");
  return new Float64Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length));
}

describeWith(["rosbag", "open-logs"], "real bags of the folder of open logs", () => {
  // The body of a suite that is left out runs all the same.
  const folder = missing("open-logs") === null ? join(openLogs(), "ros1") : "";
  const children: Readonly<Record<string, string>> = { "/tf": "neptune" };
  const poses: Readonly<Record<string, SignalName>> = {
    "geometry_msgs/PoseStamped": "vehicle_pose",
    "geometry_msgs/TransformStamped": "effector_pose",
    "nav_msgs/Odometry": "vehicle_estimate",
    "sensor_msgs/Imu": "vehicle_rate",
    "tf2_msgs/TFMessage": "vehicle_setpoint",
  };
  const paths = (folder === "" ? [] : readdirSync(folder))
    .flatMap((name) => readdirSync(join(folder, name)).map((file) => join(folder, name, file)))
    .filter((path) => path.endsWith(".bag") && !path.endsWith("empty-file.bag"));

  for (const path of paths) {
    test(`${path.slice(folder.length + 1)}: counts per topic, times and every pose equal the reference`, async () => {
      const reference = readWithReference([path], { child: { ...children } });
      const survey = await rosbagReader.survey(path);
      expect(survey.recovered).toBeNull();
      expect(Object.fromEntries(survey.topics.map(({ topic, messages }) => [topic, messages]))).toEqual(
        Object.fromEntries(Object.entries(reference.topics).map(([topic, { count }]) => [topic, count])),
      );
      expect(survey.start?.toString() ?? null).toBe(reference.start);
      expect(survey.end?.toString() ?? null).toBe(reference.end);
      for (const [topic, { type, columns }] of Object.entries(reference.topics)) {
        const signal = poses[type];
        if (signal === undefined || Object.keys(columns).length === 0) continue;
        const child = children[topic];
        const { signals } = await rosbagReader.read(
          [path],
          [{ signal, topic, ...(child === undefined ? {} : { child }) }],
          {},
        );
        expectSame(signals.get(signal)!, reference, topic);
      }
    });
  }
});
