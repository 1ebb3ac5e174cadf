import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { beforeAll, expect, test } from "vitest";
import type { RecordedSignal, Recording } from "../../../src/foundation/recording.ts";
import { readLog, readStamps, surveyLog } from "../../../src/readers/readLog.ts";
import { describeWith } from "../../support/available.ts";
import { runPython } from "../../support/run.ts";
import { writeBag } from "../../support/writeBag.ts";
import { asked as askedOfBags } from "../rosbag/asked.ts";
import { temporaryFolder } from "../rosbag/temporaryFolder.ts";
import { buildMcap } from "./buildMcap.ts";

/** Topics of the reference bag that are not written here. */
const left: readonly string[] = ["/tf_static", "/bare/vector", "/bare/transform"];
const asked = Object.entries(askedOfBags).filter(([topic]) => !left.includes(topic));

interface Made {
  readonly topic: string;
  readonly type: string;
  readonly received: readonly [number, number];
  readonly ros1: string;
  readonly little: string;
  readonly big: string;
}

async function readAll(path: string): Promise<{ signals: Map<string, RecordedSignal>; recordings: Recording[] }> {
  const signals = new Map<string, RecordedSignal>();
  const recordings: Recording[] = [];
  for (const [topic, request] of asked) {
    const recording = await readLog([path], [{ ...request, topic }]);
    expect({ topic, missing: recording.missing, recovered: recording.recovered }).toEqual({
      topic,
      missing: [],
      recovered: null,
    });
    signals.set(topic, recording.signals.get(request.signal)!);
    recordings.push(recording);
  }
  return { signals, recordings };
}

function bits(values: Float64Array | Uint8Array): string {
  return Buffer.from(values.buffer, values.byteOffset, values.byteLength).toString("base64");
}

function expectSame(found: RecordedSignal, expected: RecordedSignal): void {
  expect(found.frameId).toBe(expected.frameId);
  expect(found.received.epoch).toBe(expected.received.epoch);
  expect(bits(found.received.seconds)).toBe(bits(expected.received.seconds));
  expect(found.zeroStamps).toBe(expected.zeroStamps);
  expect(found.stamped?.epoch).toBe(expected.stamped?.epoch);
  if (expected.stamped !== null) expect(bits(found.stamped!.seconds)).toBe(bits(expected.stamped.seconds));
  expect(Object.keys(found.columns)).toEqual(Object.keys(expected.columns));
  for (const [name, values] of Object.entries(expected.columns))
    expect({ name, bits: bits(found.columns[name]!) }).toEqual({ name, bits: bits(values) });
  expect(Object.keys(found.given)).toEqual(Object.keys(expected.given));
  for (const [name, values] of Object.entries(expected.given)) expect(bits(found.given[name]!)).toBe(bits(values));
}

// The ROS 1 reader is held against the reference implementation bit for bit (../rosbag/againstReference.test.ts); here
// the same numbers, serialised by messages.py in three ways, must come out of every kind of file as they do there.
describeWith(["rosbag"], "the same messages give the same columns from an MCAP file as from a ROS 1 bag", () => {
  const folder = temporaryFolder();
  const program = readFileSync(new URL("messages.py", import.meta.url), "utf8");
  const bag = join(folder, "all.bag");
  let made: Made[] = [];
  beforeAll(() => {
    made = runPython<Made[]>(program, { seed: 20, rows: 60 });
    writeBag(
      bag,
      made.map(({ topic, type, received, ros1 }) => ({ topic, type, received, data: Buffer.from(ros1, "base64") })),
      { perChunk: 40 },
    );
  });
  const logTime = ([sec, nsec]: readonly [number, number]): bigint => BigInt(sec) * 1_000_000_000n + BigInt(nsec);

  for (const form of ["ros1", "little", "big"] as const)
    for (const compression of ["none", "lz4", "zstd"] as const)
      test(`${form === "ros1" ? "ROS 1 messages" : `CDR, ${form}-endian`}, packed with ${compression}`, async () => {
        const path = join(folder, `${form}-${compression}.mcap`);
        const bytes = await buildMcap(
          made.map((message) => ({
            topic: message.topic,
            type: form === "ros1" ? message.type : message.type.replace("/", "/msg/"),
            logTime: logTime(message.received),
            data: Buffer.from(message[form], "base64"),
            ...(form === "ros1" ? { encoding: "ros1", schemaEncoding: "ros1msg" } : {}),
          })),
          { compression, chunkSize: 6000 },
        );
        writeFileSync(path, bytes);
        const expected = await readAll(bag);
        const found = await readAll(path);
        for (const [topic, signal] of expected.signals) {
          expectSame(found.signals.get(topic)!, signal);
          expect(found.signals.get(topic)!.type.replace("/msg/", "/")).toBe(signal.type);
          expect(signal.received.seconds.length).toBeGreaterThan(10);
        }
        expect(found.recordings[0]!.start).toBe(expected.recordings[0]!.start);
        expect(found.recordings[0]!.end).toBe(expected.recordings[0]!.end);
        const survey = await surveyLog(path);
        const reference = await surveyLog(bag);
        expect(survey).toEqual({
          ...reference,
          file: path,
          format: "MCAP",
          bytes: bytes.length,
          compression: [compression],
          topics: reference.topics.map((topic) =>
            form === "ros1" ? topic : { ...topic, type: topic.type.replace("/", "/msg/") },
          ),
        });
      });

  test("lz4 frames as a compressor writes them, blocks that refer to each other's bytes and all", async () => {
    const path = join(folder, "lz4.mcap");
    const packed = (data: Uint8Array): Buffer =>
      Buffer.from(
        runPython<string>(
          "import base64, json, sys, roslz4; print(json.dumps(base64.b64encode(roslz4.compress(base64.b64decode(json.load(sys.stdin)))).decode()))",
          Buffer.from(data).toString("base64"),
        ),
        "base64",
      );
    const pose = made.filter(({ topic }) => topic === "/pose");
    const bytes = await buildMcap(
      pose.map(({ topic, type, received, little }) => ({
        topic,
        type: type.replace("/", "/msg/"),
        logTime: logTime(received),
        data: Buffer.from(little, "base64"),
      })),
      {
        chunkSize: 3000,
        writer: { compressChunk: (data) => ({ compression: "lz4", compressedData: packed(data) }) },
      },
    );
    writeFileSync(path, bytes);
    const request = { signal: "vehicle_pose", topic: "/pose" } as const;
    const found = (await readLog([path], [request])).signals.get("vehicle_pose")!;
    const expected = (await readLog([bag], [request])).signals.get("vehicle_pose")!;
    for (const [name, values] of Object.entries(expected.columns))
      expect(bits(found.columns[name]!)).toBe(bits(values));
    expect((await surveyLog(path)).compression).toEqual(["lz4"]);
  });

  test("stamps and receipt of every topic are those of the bag, where the types' definitions tell of their headers", async () => {
    const path = join(folder, "stamps.mcap");
    writeFileSync(
      path,
      await buildMcap(
        made.map(({ topic, type, received, little }) => ({
          topic,
          type: type.replace("/", "/msg/"),
          logTime: logTime(received),
          data: Buffer.from(little, "base64"),
        })),
      ),
    );
    const found = await readStamps(
      path,
      asked.map(([topic]) => topic),
    );
    for (const [topic, request] of asked) {
      if (topic === "/tf" || topic === "/joints") continue;
      const signal = (await readLog([bag], [{ ...request, topic }])).signals.get(request.signal)!;
      const stamps = found.topics.get(topic)!;
      expect(bits(stamps.received.seconds)).toBe(bits(signal.received.seconds));
      expect(stamps.stamped?.epoch).toBe(signal.stamped?.epoch);
      if (signal.stamped !== null) expect(bits(stamps.stamped!.seconds)).toBe(bits(signal.stamped.seconds));
    }
  });
});
