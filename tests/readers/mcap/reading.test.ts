import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { parse } from "@foxglove/rosmsg";
import { MessageWriter } from "@foxglove/rosmsg2-serialization";
import { describe, expect, test } from "vitest";
import type { Recording, SignalRequest } from "../../../src/foundation/recording.ts";
import { inspectLog } from "../../../src/pipeline/inspectLog.ts";
import { readLog, readStamps, surveyLog } from "../../../src/readers/readLog.ts";
import { buildBag } from "../../support/writeBag.ts";
import { counted, poses } from "../rosbag/poses.ts";
import { temporaryFolder } from "../rosbag/temporaryFolder.ts";
import { buildMcap, cdrPoses, type McapMessage, type McapOptions, recordsOf } from "./buildMcap.ts";
import { definitionOf } from "./definitions.ts";

const folder = temporaryFolder();
const request = { signal: "vehicle_pose", topic: "/mocap/airframe" } as const;
let files = 0;

function file(bytes: Uint8Array): string {
  const path = join(folder, `reading-${files++}.mcap`);
  writeFileSync(path, bytes);
  return path;
}

async function read(bytes: Uint8Array, ...requests: SignalRequest[]): Promise<Recording> {
  return readLog([file(bytes)], requests.length === 0 ? [request] : requests);
}

function x(recording: Recording): number[] {
  return [...(recording.signals.get("vehicle_pose")?.columns.x ?? [])];
}

describe("whatever way a file is laid out, every pose is read", () => {
  const layouts: [string, McapOptions][] = [
    ["with a summary", {}],
    [
      "without summary",
      {
        writer: {
          useStatistics: false,
          useSummaryOffsets: false,
          repeatChannels: false,
          repeatSchemas: false,
          useChunkIndex: false,
          useMetadataIndex: false,
          useAttachmentIndex: false,
        },
      },
    ],
    ["without chunks", { writer: { useChunks: false } }],
    ["without index records behind the chunks", { writer: { useMessageIndex: false } }],
    ["without chunk index", { writer: { useChunkIndex: false } }],
    ["without statistics", { writer: { useStatistics: false } }],
    ["without the channels in the summary", { writer: { repeatChannels: false } }],
    ["without the schemas in the summary", { writer: { repeatSchemas: false } }],
    ["in one chunk", { chunkSize: 1 << 24 }],
    ["in a chunk for each message", { chunkSize: 1 }],
  ];
  for (const [name, options] of layouts)
    for (const compression of ["none", "lz4", "zstd"] as const)
      test(`${name}, packed with ${compression}`, async () => {
        const messages = [...cdrPoses(60), ...cdrPoses(20, { topic: "/other", first: 100 })];
        const bytes = await buildMcap(messages, { compression, ...options });
        const recording = await read(bytes);
        expect(recording.recovered).toBeNull();
        expect(x(recording)).toEqual([...counted(60)]);
        const survey = await surveyLog(file(bytes));
        expect(survey.recovered).toBeNull();
        expect(survey.topics.map(({ topic, messages: count, start, end }) => [topic, count, start, end])).toEqual([
          ["/mocap/airframe", 60, 1_700_000_001_000_000_000n, 1_700_000_001_590_000_000n],
          ["/other", 20, 1_700_000_002_000_000_000n, 1_700_000_002_190_000_000n],
        ]);
      });

  test("an empty but whole file holds no topic, and nothing is lost", async () => {
    const recording = await read(await buildMcap([]));
    expect(recording).toMatchObject({ start: null, end: null, recovered: null });
    expect(recording.missing[0]!.reason).toBe("absent");
  });

  test("messages outside of chunks, among chunks, are not overlooked", async () => {
    const chunked = await buildMcap(cdrPoses(30));
    const loose = await buildMcap(cdrPoses(5, { first: 100 }), { writer: { useChunks: false } });
    const messages = recordsOf(loose).filter(({ op }) => op === 5);
    const own = messages.map(({ position, length }) => loose.subarray(position, position + length));
    const second = recordsOf(chunked).filter(({ op }) => op === 6)[1]!.position;
    const mixed = Buffer.concat([chunked.subarray(0, second), ...own, chunked.subarray(second)]);
    expect(x(await read(mixed)).sort((a, b) => a - b)).toEqual([...counted(30), ...counted(5, 100)]);
  });
});

describe("rows are in order of receipt", () => {
  test("whatever the order of the chunks", async () => {
    const all = cdrPoses(50);
    const shuffled = [...all.slice(30), ...all.slice(10, 30), ...all.slice(0, 10)];
    expect(x(await read(await buildMcap(shuffled)))).toEqual([...counted(50)]);
  });

  test("where chunks overlap in time", async () => {
    const all = cdrPoses(50);
    const odd = all.filter((_, i) => i % 2 === 1);
    const even = all.filter((_, i) => i % 2 === 0);
    const recording = await read(await buildMcap([...odd, ...even]));
    expect(x(recording)).toEqual([...counted(50)]);
    expect(recording.recovered).toBeNull();
  });

  test("and messages of the same instant keep the order of the file", async () => {
    const same = cdrPoses(20).map((message) => ({ ...message, logTime: 5n }));
    expect(x(await read(await buildMcap(same)))).toEqual([...counted(20)]);
  });

  test("the parts of a split recording are joined, in whatever order they are given", async () => {
    const first = file(await buildMcap(cdrPoses(20)));
    const second = file(await buildMcap([...cdrPoses(3, { topic: "/a" }), ...cdrPoses(20, { first: 20 })]));
    const recording = await readLog([second, first], [request]);
    expect(x(recording)).toEqual([...counted(40)]);
    expect(recording.files).toEqual([second, first]);
  });

  test("a part given twice, and parts of two formats, are refused", async () => {
    const path = file(await buildMcap(cdrPoses(5)));
    await expect(readLog([path, path], [request])).rejects.toThrow(/the same file twice/);
    const bag = join(folder, "part.bag");
    writeFileSync(bag, buildBag(poses(5)).bytes);
    await expect(readLog([path, bag], [request])).rejects.toThrow(/in two formats/);
  });
});

test("any mixture of topics, orders of time and sizes of chunks gives every pose, in order of receipt", async () => {
  // mulberry32, so that every run is the same
  let state = 7;
  const dice = (below: number): number => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return Math.floor((((t ^ (t >>> 14)) >>> 0) / 4_294_967_296) * below);
  };
  for (let trial = 0; trial < 30; trial++) {
    const count = 1 + dice(120);
    const messages = [...cdrPoses(count), ...cdrPoses(dice(50), { topic: "/other" })];
    for (let i = messages.length - 1; i > 0; i--) {
      const other = dice(i + 1);
      [messages[i], messages[other]] = [messages[other]!, messages[i]!];
    }
    const bytes = await buildMcap(messages, {
      compression: (["none", "lz4", "zstd"] as const)[dice(3)]!,
      chunkSize: 1 + dice(5000),
      writer: { useChunks: dice(5) > 0, useMessageIndex: dice(3) > 0, useStatistics: dice(3) > 0 },
    });
    const recording = await read(bytes);
    expect(recording.recovered).toBeNull();
    expect(x(recording)).toEqual([...counted(count)]);
  }
});

test("poses between images, in chunks far longer than a window, are all found", async () => {
  const images = [0, 10, 300, 16_000, 70_000, 400_000, 1_100_000].map(
    (length, i): McapMessage => ({
      topic: "/camera",
      type: "sensor_msgs/msg/Image",
      definition: "",
      logTime: BigInt(1_700_000_001_000_000_000 + 1e7 * i),
      data: new Uint8Array(length).fill(5),
    }),
  );
  const messages = cdrPoses(2100).flatMap((pose, i) => (i % 70 === 0 ? [images[(i / 70) % 7]!, pose] : [pose]));
  for (const options of [{}, { useChunks: false }, { useMessageIndex: false }]) {
    const bytes = await buildMcap(messages, { chunkSize: 1 << 28, writer: options });
    expect(bytes.length).toBeGreaterThan(6 << 20);
    const recording = await read(bytes);
    expect(recording.recovered).toBeNull();
    expect(x(recording)).toEqual([...counted(2100)]);
    const cut = await read(bytes.subarray(0, bytes.length - (1 << 20)));
    expect(x(cut)).toEqual([...counted(x(cut).length)]);
    expect(x(cut).length).toBeGreaterThan(1000);
  }
});

test("log times at the ends of what the format can hold", async () => {
  const last = 2n ** 64n - 1n;
  const [first, second] = cdrPoses(2);
  const recording = await read(
    await buildMcap([
      { ...first!, logTime: 0n },
      { ...second!, logTime: last },
    ]),
  );
  expect(recording).toMatchObject({ start: 0n, end: last, recovered: null });
  // 2^64 - 1 ns, rounded once to double
  expect([...recording.signals.get("vehicle_pose")!.received.seconds]).toEqual([0, Number(last) / 1e9]);
});

test("a span keeps what was received in it, its start included and its end not", async () => {
  const path = file(await buildMcap(cdrPoses(100)));
  const recording = await readLog([path], [request], { span: [0.2, 0.4] });
  expect(x(recording)).toEqual([...counted(20, 20)]);
  expect(recording.start).toBe(1_700_000_001_000_000_000n);
});

test("only chunks that hold a wanted topic are unpacked: damage in another one is not met", async () => {
  const messages = [...cdrPoses(40, { topic: "/camera" }), ...cdrPoses(40)];
  const bytes = await buildMcap(messages, { compression: "zstd" });
  const first = recordsOf(bytes).find(({ op }) => op === 6)!;
  const broken = Buffer.from(bytes);
  broken.fill(0xff, first.position + 60, first.position + first.length);
  const recording = await read(broken);
  expect(recording.recovered).toBeNull();
  expect(x(recording)).toEqual([...counted(40)]);
  const other = await read(broken, { signal: "vehicle_pose", topic: "/camera" });
  expect(other.recovered).toMatch(
    /the chunk at byte \d+ lost \d+ of \d+ message\(s\): its zstd data cannot be unpacked/,
  );
});

describe("types and encodings", () => {
  const stamp = { sec: 1_700_000_000, nanosec: 500 };

  test("type names are matched with and without /msg/, and shown as they are", async () => {
    const bare = cdrPoses(5).map((message) => ({ ...message, type: "geometry_msgs/PoseStamped" }));
    expect((await read(await buildMcap(bare))).signals.get("vehicle_pose")!.type).toBe("geometry_msgs/PoseStamped");
    const full = await read(await buildMcap(cdrPoses(5)));
    expect(full.signals.get("vehicle_pose")!.type).toBe("geometry_msgs/msg/PoseStamped");
  });

  test("a known name over another definition is refused, not read at a guess", async () => {
    const other = cdrPoses(5).map((message) => ({
      ...message,
      definition: "std_msgs/Header header\nfloat32[] values",
    }));
    const { missing } = await read(await buildMcap(other));
    expect(missing[0]).toMatchObject({ reason: "wrong-type" });
    expect(missing[0]!.message).toMatch(/a version that is not known \(fields H\[f\]\), expected Hddddddd/);
  });

  test("without a definition, or with one in IDL, the name of a known type does", async () => {
    for (const [schemaEncoding, definition] of [
      ["ros2msg", ""],
      ["ros2idl", "module geometry_msgs { };"],
    ] as const) {
      const bytes = await buildMcap(cdrPoses(5).map((message) => ({ ...message, schemaEncoding, definition })));
      expect(x(await read(bytes))).toEqual([...counted(5)]);
      const stamps = (await readStamps(file(bytes), ["/mocap/airframe"])).topics.get("/mocap/airframe");
      expect([...stamps!.stamped!.seconds]).toEqual([...counted(5)].map((i) => (10 * i - 4) / 1000));
    }
  });

  test("anything else is read through `fields:` by the definition in the file", async () => {
    const definition = [
      "std_msgs/Header header\nint16[] counts\nbool armed\nInner[2] pair\nfloat64 NOT_A_FIELD=3.0\nbuiltin_interfaces/Duration age",
      "MSG: std_msgs/Header\nbuiltin_interfaces/Time stamp\nstring frame_id",
      "MSG: lab_msgs/Inner\nfloat32 x\nfloat64 y",
    ].join(`\n${"=".repeat(80)}\n`);
    const writer = new MessageWriter(parse(definition, { ros2: true }));
    const messages = Array.from({ length: 8 }, (_, i): McapMessage => {
      const value = {
        header: { stamp: { ...stamp, nanosec: i }, frame_id: "lab" },
        counts: [i, -i, 7],
        armed: i % 2 === 1,
        pair: [
          { x: 0.5 * i, y: 1 / (i + 1) },
          { x: 1, y: i },
        ],
        age: { sec: 2, nanosec: 250_000_000 },
      };
      return {
        topic: "/lab",
        type: "lab_msgs/msg/State",
        logTime: BigInt(1_700_000_000_000_000_000 + 1e7 * i),
        definition,
        data: writer.writeMessage(value),
      };
    });
    const bytes = await buildMcap(messages, { compression: "zstd" });
    const fields = { x: "counts[1]", y: "pair[0].y", z: "pair.1.y", yaw: "armed", age: "age", s: "pair[0].x" };
    const { signals, missing, recovered } = await read(bytes, { signal: "vehicle_pose", topic: "/lab", fields });
    expect({ missing, recovered }).toEqual({ missing: [], recovered: null });
    const { columns, stamped, frameId } = signals.get("vehicle_pose")!;
    expect([...columns.x!]).toEqual([0, -1, -2, -3, -4, -5, -6, -7]);
    expect([...columns.y!]).toEqual([1, 1 / 2, 1 / 3, 1 / 4, 1 / 5, 1 / 6, 1 / 7, 1 / 8]);
    expect([...columns.z!]).toEqual([0, 1, 2, 3, 4, 5, 6, 7]);
    expect([...columns.yaw!]).toEqual([0, 1, 0, 1, 0, 1, 0, 1]);
    expect(new Set(columns.age)).toEqual(new Set([2.25]));
    expect([...columns.s!]).toEqual([0, 0.5, 1, 1.5, 2, 2.5, 3, 3.5]);
    expect(frameId).toBe("lab");
    expect([...stamped!.seconds]).toEqual(Array.from({ length: 8 }, (_, i) => i / 1e9));
    const wrong = await read(bytes, { signal: "vehicle_pose", topic: "/lab", fields: { x: "pairs[0].x" } });
    expect(wrong.missing[0]!.message).toMatch(/found no field "pairs", expected a number; there are pair\[0\]\.x/);
  });

  test("`fields:` without a definition it can follow is refused in words", async () => {
    const idl = cdrPoses(3).map((message) => ({ ...message, schemaEncoding: "ros2idl", definition: "module m {};" }));
    const { missing } = await read(await buildMcap(idl), { ...request, fields: { x: "pose.position.x" } });
    expect(missing[0]!.message).toMatch(/found a definition that is no ROS message text/);
  });

  test("other encodings are listed by inspect, and refused in words when they are wanted", async () => {
    const json = cdrPoses(4).map(
      (message): McapMessage => ({
        ...message,
        topic: "/json",
        type: "Pose",
        encoding: "json",
        schemaEncoding: "jsonschema",
        definition: "{}",
        data: Buffer.from('{"x":1}'),
      }),
    );
    const bytes = await buildMcap([...cdrPoses(4), ...json]);
    const inspection = await inspectLog(file(bytes));
    expect(inspection.topics.find(({ topic }) => topic === "/json")).toMatchObject({
      type: "Pose (json)",
      messages: 4,
      could_be: [],
      known: false,
    });
    for (const extra of [{}, { fields: { x: "x" } }]) {
      const { missing } = await read(bytes, { signal: "vehicle_pose", topic: "/json", ...extra });
      expect(missing[0]).toMatchObject({ reason: "wrong-type" });
      expect(missing[0]!.message).toMatch(
        /found messages of Pose in the encoding "json", expected "cdr" \(ROS 2\) or "ros1"/,
      );
    }
  });

  test("a parameter list or another form of CDR gives no row and is counted", async () => {
    const messages = cdrPoses(6);
    for (const [i, form] of [2, 3, 7].entries()) messages[i]!.data[1] = form;
    const recording = await read(await buildMcap(messages));
    expect(x(recording)).toEqual([3, 4, 5]);
    expect(recording.recovered).toMatch(/3 message\(s\) are no whole geometry_msgs\/msg\/PoseStamped or hold nothing/);
  });

  test("a bag's own sums, where a converter kept them, decide over versions", async () => {
    const ros1 = poses(3).map(
      ({ topic, type, received, data }): McapMessage => ({
        topic,
        type,
        logTime: BigInt(received[0]) * 1_000_000_000n + BigInt(received[1]),
        data,
        encoding: "ros1",
        schemaEncoding: "ros1msg",
        definition: definitionOf("geometry_msgs/PoseStamped"),
      }),
    );
    const sum = (md5sum: string): McapMessage[] => ros1.map((message) => ({ ...message, metadata: { md5sum } }));
    expect(x(await read(await buildMcap(sum("d3812c3cbc69362b77dc0b19b345f8f5"))))).toEqual([0, 1, 2]);
    const { missing } = await read(await buildMcap(sum("0123456789abcdef0123456789abcdef")));
    expect(missing[0]!.message).toMatch(/md5sum 0123456789abcdef/);
  });
});

test("inspect gives rates, stamps and a manifest for an MCAP file", async () => {
  const inspection = await inspectLog(file(await buildMcap(cdrPoses(200), { compression: "zstd" })));
  expect(inspection).toMatchObject({ format: "MCAP", compression: ["zstd"], messages: 200, recovered: null });
  const [topic] = inspection.topics;
  expect(topic!.timing!.median_interval).toBeCloseTo(0.01, 9);
  expect(topic!.timing!.by).toBe("header");
  expect(topic!.known).toBe(true);
  expect(inspection.manifest).toContain("/mocap/airframe");
});

describe("log time and publish time", () => {
  test("are both kept: buildMcap publishes each message a nanosecond before it is logged", async () => {
    const path = file(await buildMcap(cdrPoses(20)));
    const { signals, start } = await readLog([path], [{ signal: "vehicle_pose", topic: "/mocap/airframe" }]);
    const { received, published } = signals.get("vehicle_pose")!;
    expect(published!.epoch).toBe(start);
    received.seconds.forEach((at, k) => {
      // seconds after the log's start: a nanosecond is resolved to 1e-16 s below a second
      expect(Math.abs(at - published!.seconds[k]! - 1e-9)).toBeLessThan(1e-15);
    });
    const stamps = (await readStamps(path, ["/mocap/airframe"])).topics.get("/mocap/airframe");
    expect(stamps!.published!.seconds).toEqual(published!.seconds);
  });
});
