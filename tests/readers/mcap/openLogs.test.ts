import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { beforeAll, expect, test } from "vitest";
import { inspectLog } from "../../../src/pipeline/inspectLog.ts";
import { readLog, readStamps, surveyLog } from "../../../src/readers/readLog.ts";
import { describeWith, missing, openLogs } from "../../support/available.ts";
import { runPython } from "../../support/run.ts";

interface Walked {
  readonly path: string;
  /** whether all chunks could be unpacked; else counts and times are those of the index records */
  readonly whole: boolean;
  readonly compression: readonly string[];
  readonly topics: readonly {
    readonly topic: string;
    readonly type: string;
    readonly encoding: string;
    readonly messages: number;
    readonly start: string | null;
    readonly end: string | null;
    readonly poses: readonly { log: string; stamp: string | null; frame: string; values: string }[];
  }[];
}

function base64(values: Iterable<number>): string {
  return Buffer.from(Float64Array.from(values).buffer).toString("base64");
}

describeWith(
  ["open-logs", "rosbag"],
  "every MCAP file of the folder of open logs equals an independent walk (walker.py)",
  () => {
    const program = readFileSync(new URL("walker.py", import.meta.url), "utf8");
    // the body runs where the suite is left out, too
    const folder = missing("open-logs") === null ? openLogs() : null;
    const paths = (folder === null ? [] : readdirSync(folder, { recursive: true, encoding: "utf8" }))
      .filter((name) => name.endsWith(".mcap"))
      .sort()
      .map((name) => join(folder!, name));
    let walked: Walked[] = [];
    beforeAll(() => {
      walked = runPython<Walked[]>(program, paths);
    });

    test("there are some, with and without compression, and poses among them", () => {
      expect(walked.length).toBeGreaterThan(10);
      expect(new Set(walked.flatMap(({ compression }) => compression))).toEqual(new Set(["none", "zstd"]));
      const poses = walked.flatMap(({ topics }) => topics.flatMap((topic) => topic.poses));
      expect(poses.length).toBeGreaterThan(10);
    });

    for (const path of paths)
      test(`${path.slice(folder!.length + 1)}: counts per topic, times and every pose equal the walk`, async () => {
        const reference = walked.find((each) => each.path === path)!;
        const survey = await surveyLog(reference.path);
        expect(survey.recovered).toBeNull();
        expect(survey.compression).toEqual(reference.compression);
        // what the walker could not unpack it knows from the index records alone: not of channels without messages
        const known = survey.topics.filter(({ messages }) => reference.whole || messages > 0);
        const expected = reference.topics
          .filter(({ messages }) => reference.whole || messages > 0)
          .map(({ topic, type, encoding, messages, start, end }) => ({
            topic,
            type: encoding === "cdr" ? type : `${type} (${encoding})`,
            messages,
            start,
            end,
          }));
        const order = (a: { topic: string; type: string }, b: { topic: string; type: string }): number =>
          a.topic < b.topic ? -1 : a.topic > b.topic ? 1 : 0;
        expect(
          known
            .map(({ topic, type, messages, start, end }) => ({
              topic,
              type,
              messages,
              start: start === null ? null : String(start),
              end: end === null ? null : String(end),
            }))
            .sort(order),
        ).toEqual(expected.sort(order));

        for (const { topic, type, poses } of reference.topics) {
          if (poses.length === 0) continue;
          const {
            signals,
            start,
            missing: lost,
          } = await readLog([reference.path], [{ signal: "vehicle_pose", topic }]);
          expect(lost).toEqual([]);
          const signal = signals.get("vehicle_pose")!;
          expect(signal.type).toBe(type);
          expect(signal.frameId).toBe(poses.find(({ frame }) => frame !== "")?.frame ?? "");
          expect(base64(signal.received.seconds)).toBe(
            base64(poses.map(({ log }) => Number(BigInt(log) - start!) / 1e9)),
          );
          const columns = Object.values(signal.columns);
          for (const [row, { values }] of poses.entries())
            expect(base64(columns.map((column) => column[row]!))).toBe(values);
          if (signal.stamped === null) expect(poses[0]!.stamp).toBeNull();
          else {
            const { epoch, seconds } = signal.stamped;
            const exact = poses.map(({ stamp }) => (stamp === "0" ? Number.NaN : Number(BigInt(stamp!) - epoch) / 1e9));
            expect(base64(seconds)).toBe(base64(exact));
          }
        }
      });

    test("every message of every file is met, those in zstd frames of other writers too", async () => {
      for (const { path, topics } of walked) {
        const names = topics.map(({ topic }) => topic);
        const stamps = await readStamps(path, names);
        for (const { topic } of topics) {
          const messages = topics.filter((each) => each.topic === topic).reduce((sum, each) => sum + each.messages, 0);
          const rows = stamps.topics.get(topic)?.received.seconds.length ?? 0;
          // a transform tree has a row for each transform
          if (topics.find((each) => each.topic === topic)!.type !== "tf2_msgs/msg/TFMessage")
            expect({ path, topic, rows }).toEqual({ path, topic, rows: messages });
        }
      }
    });

    test("every type known by heart that is among them is read as such: its definition there has the layout expected", async () => {
      const types = new Set<string>();
      for (const { path } of walked)
        for (const { topic, type, couldBe } of (await surveyLog(path)).topics)
          for (const signal of couldBe) {
            const { missing: lost } = await readLog([path], [{ signal, topic }]);
            expect({ type, missing: lost.filter(({ reason }) => reason === "wrong-type") }).toEqual({
              type,
              missing: [],
            });
            types.add(type.replace("/msg/", "/"));
          }
      expect([...types].sort()).toEqual(
        [
          ...[
            "Point",
            "PointStamped",
            "Pose",
            "PoseStamped",
            "PoseWithCovarianceStamped",
            "Transform",
            "TransformStamped",
          ],
          ...["Vector3", "Vector3Stamped"],
        ]
          .map((name) => `geometry_msgs/${name}`)
          .concat(
            "nav_msgs/Odometry",
            "sensor_msgs/BatteryState",
            "sensor_msgs/Imu",
            "sensor_msgs/JointState",
            "tf2_msgs/TFMessage",
          ),
      );
    });

    test("inspect takes every one of them", async () => {
      for (const reference of walked) {
        const inspection = await inspectLog(reference.path);
        expect(inspection.format).toBe("MCAP");
        expect(inspection.topics.length).toBeGreaterThan(0);
      }
    });
  },
);
