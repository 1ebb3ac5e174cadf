import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { McapIndexedReader } from "@mcap/core";
import { expect, test } from "vitest";
import { readLog, surveyLog } from "../../../src/readers/readLog.ts";
import { temporaryFolder } from "../rosbag/temporaryFolder.ts";
import { buildMcap, cdrPoses, recordsOf } from "./buildMcap.ts";

const folder = temporaryFolder();
const request = { signal: "vehicle_pose", topic: "/mocap/airframe" } as const;
let files = 0;

/** Pose i of `cdrPoses` is received at this instant; counted from the first, at i / 100 seconds. */
const instant = (i: number): bigint => 1_700_000_001_000_000_000n + 10_000_000n * BigInt(i);

/** 200 poses in chunks of some ten, with the times of the summary's chunk indexes changed; the summary has no checksum. */
async function withTimes(change: (start: bigint, end: bigint) => [bigint, bigint]): Promise<Buffer> {
  const bytes = await buildMcap(cdrPoses(200), { compression: "zstd" });
  for (const { op, position } of recordsOf(bytes)) {
    if (op !== 8) continue;
    // MCAP specification, "Chunk Index (op=0x08)": message_start_time, message_end_time come first
    const at = position + 9;
    const [start, end] = change(bytes.readBigUInt64LE(at), bytes.readBigUInt64LE(at + 8));
    bytes.writeBigUInt64LE(start, at);
    bytes.writeBigUInt64LE(end, at + 8);
  }
  bytes.fill(0, bytes.length - 12, bytes.length - 8);
  return bytes;
}

function file(bytes: Uint8Array): string {
  const path = join(folder, `times-${files++}.mcap`);
  writeFileSync(path, bytes);
  return path;
}

const cases: [string, (start: bigint, end: bigint) => [bigint, bigint]][] = [
  ["zero", () => [0n, 0n]],
  ["zero at the start", (_, end) => [0n, end]],
  ["shrunken to the first message", (start) => [start, start]],
  ["shrunken to the last message", (_, end) => [end, end]],
  ["too wide", (start, end) => [start - 5_000_000_000n, end + 5_000_000_000n]],
  ["of another chunk", () => [instant(190), instant(199)]],
  ["reversed", (start, end) => [end, start]],
];

for (const [name, change] of cases)
  test(`an index whose chunk times are ${name} loses no message of a span, and is reported`, async () => {
    const path = file(await withTimes(change));
    for (const [from, until] of [
      [0, 0.5],
      [0.42, 1.37],
      [1.5, 9],
    ] as const) {
      const { start, signals, recovered } = await readLog([path], [request], { span: [from, until] });
      // the first message is the log's start; [from, until) in hundredths of a second are the numbers of the poses
      expect(start).toBe(instant(0));
      const [first, last] = [Math.round(100 * from), Math.min(200, Math.round(100 * until))];
      expect([...signals.get("vehicle_pose")!.columns.x!]).toEqual(
        Array.from({ length: last - first }, (_, i) => first + i),
      );
      expect(recovered).toMatch(
        /its index and the index records behind \d+ chunk\(s\) do not agree: these chunk\(s\) were looked through/,
      );
    }
    const survey = await surveyLog(path);
    expect([survey.start, survey.end, survey.messages]).toEqual([instant(0), instant(199), 200]);
    expect(survey.topics[0]).toMatchObject({ start: instant(0), end: instant(199) });
  });

test("an untouched index is believed, and its times are those that the format's own reader tells", async () => {
  const bytes = await withTimes((start, end) => [start, end]);
  const reader = await McapIndexedReader.Initialize({
    readable: {
      size: async () => BigInt(bytes.length),
      read: async (offset, size) => bytes.subarray(Number(offset), Number(offset + size)),
    },
  });
  const survey = await surveyLog(file(bytes));
  expect(survey.recovered).toBeNull();
  expect([survey.start, survey.end, survey.messages]).toEqual([
    reader.statistics!.messageStartTime,
    reader.statistics!.messageEndTime,
    Number(reader.statistics!.messageCount),
  ]);
});

test("index records that lie about their channel or their number are not believed", async () => {
  for (const change of [
    (bytes: Buffer, at: number) => bytes.writeUInt16LE(7, at + 9),
    (bytes: Buffer, at: number) => bytes.writeUInt32LE(bytes.readUInt32LE(at + 11) - 16, at + 11),
    (bytes: Buffer, at: number) => bytes.writeBigUInt64LE(2n ** 40n, at + 1),
  ]) {
    const bytes = await withTimes((start, end) => [start, end]);
    change(bytes, recordsOf(bytes).filter(({ op }) => op === 7)[2]!.position);
    const { signals } = await readLog([file(bytes)], [request], { span: [0.1, 1.9] });
    expect([...signals.get("vehicle_pose")!.columns.x!]).toEqual(Array.from({ length: 180 }, (_, i) => 10 + i));
  }
});
