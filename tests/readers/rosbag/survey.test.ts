import { join } from "node:path";
import { expect, test } from "vitest";
import { readStamps, surveyLog } from "../../../src/readers/readLog.ts";
import { type BagMessage, f64s, header, str, u32, writeBag } from "../../support/writeBag.ts";
import { lz4Stored, poses, start } from "./poses.ts";
import { temporaryFolder } from "./temporaryFolder.ts";

const folder = temporaryFolder();

function transform(child: string, second: number): Buffer {
  return Buffer.concat([header([start + second, 0], "map"), str(child), f64s(0, 0, 0, 0, 0, 0, 1)]);
}

const tree: BagMessage[] = [0, 1, 2].map((second) => ({
  topic: "/tf",
  type: "tf2_msgs/TFMessage",
  md5: "94810edda583a504dfda3829e70d7eec",
  received: [start + second, 500_000_000],
  data: Buffer.concat([u32(2), transform("tool", second), transform(second === 2 ? "late" : "base", second)]),
}));
const text: BagMessage = { topic: "/notes", type: "std_msgs/String", received: [start + 9, 1], data: str("a") };

test("a survey tells topics, types, counts, times, children and what each could serve as", async () => {
  const path = join(folder, "survey.bag");
  const { bytes } = writeBag(path, [...poses(25), ...tree, text], { perChunk: 4 });
  const survey = await surveyLog(path);
  expect(survey).toMatchObject({
    file: path,
    format: "ROS 1 bag",
    bytes: bytes.length,
    compression: ["none"],
    messages: 29,
    recovered: null,
    start: BigInt(start) * 1_000_000_000n + 500_000_000n,
    end: BigInt(start + 9) * 1_000_000_000n + 1n,
  });
  expect(
    survey.topics.map(({ topic, type, messages, known, children }) => [topic, type, messages, known, children]),
  ).toEqual([
    ["/mocap/airframe", "geometry_msgs/PoseStamped", 25, true, []],
    ["/notes", "std_msgs/String", 1, false, []],
    ["/tf", "tf2_msgs/TFMessage", 3, true, ["base", "late", "tool"]],
  ]);
  const [airframe, notes] = survey.topics;
  expect([airframe!.start, airframe!.end]).toEqual([
    BigInt(start + 1) * 1_000_000_000n,
    BigInt(start + 1) * 1_000_000_000n + 240_000_000n,
  ]);
  expect(airframe!.couldBe[0]).toBe("vehicle_pose");
  expect(notes!.couldBe).toEqual([]);
});

test("a survey of an unindexed bag gives the same topics, and says that it was recovered", async () => {
  const messages = [...poses(25), ...tree, text];
  const whole = join(folder, "whole.bag");
  const cut = join(folder, "cut.bag");
  writeBag(whole, messages);
  writeBag(cut, messages, { unindexed: true, compression: "lz4", pack: lz4Stored });
  const survey = await surveyLog(cut);
  expect(survey.topics).toEqual((await surveyLog(whole)).topics);
  expect(survey.recovered).toMatch(/29 message\(s\) found/);
  expect(survey.compression).toEqual(["lz4"]);
});

test("chunks out of time order: first and last receipt are those of all chunks", async () => {
  const path = join(folder, "backwards.bag");
  writeBag(path, [...poses(10, { first: 20 }), ...poses(10, { first: 10 }), ...poses(10)]);
  const survey = await surveyLog(path);
  const second = BigInt(start + 1) * 1_000_000_000n;
  expect([survey.start, survey.end]).toEqual([second, second + 290_000_000n]);
  expect([survey.topics[0]!.start, survey.topics[0]!.end]).toEqual([second, second + 290_000_000n]);
});

const headed = "std_msgs/Header header\nfloat64 x\n";

test("stamps and receipt of any type that starts with a header; of a tree, one row per transform", async () => {
  const path = join(folder, "stamps.bag");
  const own = [0, 1].map(
    (i): BagMessage => ({
      topic: "/own",
      type: "tank_wall/Probe",
      md5: "2".repeat(32),
      definition: `# a header first\nuint8 A=1\n${headed}`,
      received: [start + 1 + i, 250_000_000],
      data: Buffer.concat([header([i === 0 ? 0 : start + i, 0]), f64s(1)]),
    }),
  );
  writeBag(path, [...own, ...tree, { ...text, definition: "string data\n" }]);
  const stamps = await readStamps(path, ["/own", "/tf", "/notes", "/none"]);
  expect([...stamps.topics.keys()]).toEqual(["/own", "/tf", "/notes"]);
  const epoch = BigInt(start) * 1_000_000_000n + 500_000_000n;
  expect(stamps.topics.get("/own")).toEqual({
    topic: "/own",
    type: "tank_wall/Probe",
    received: { epoch, seconds: Float64Array.of(0.75, 1.75) },
    stamped: { epoch, seconds: Float64Array.of(Number.NaN, 0.5) },
    zeroStamps: 1,
  });
  expect(stamps.topics.get("/tf")!.received.seconds).toEqual(Float64Array.of(0, 0, 1, 1, 2, 2));
  expect(stamps.topics.get("/tf")!.stamped!.seconds).toEqual(Float64Array.of(-0.5, -0.5, 0.5, 0.5, 1.5, 1.5));
  expect(stamps.topics.get("/notes")!.stamped).toBeNull();
  expect((await readStamps(path, ["/none"])).topics.has("/none")).toBe(false);
  expect((await readStamps(path, ["/own"])).topics.get("/own")).toEqual(stamps.topics.get("/own"));
});
