import { statSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { McapRecordBuilder } from "@mcap/core";
import { expect, test } from "vitest";
import { readLog } from "../../../src/readers/readLog.ts";
import { temporaryFolder } from "../rosbag/temporaryFolder.ts";
import { cdrPoses } from "./buildMcap.ts";
import { definitionOf } from "./definitions.ts";

const folder = temporaryFolder();
const request = { signal: "vehicle_pose", topic: "/mocap/airframe" } as const;
const mebibyte = 2 ** 20;

/** Bytes of a record's kind and length. */
const headBytes = 9;

/**
 * A zstd frame that holds one record of a private kind, whose megabytes are all zero: four bytes for each 128 KiB.
 *
 * @source RFC 8878, sections 3.1.1.1 (a content size of eight bytes, one segment) and 3.1.1.2 (a raw block, and blocks of
 *         one byte repeated); MCAP specification, "Records" (kinds from 0x80 on are to be stepped over)
 */
function longRecord(megabytes: number): Buffer {
  const head = Buffer.from("28b52ffde00000000000000000", "hex");
  head.writeBigUInt64LE(BigInt(headBytes + megabytes * mebibyte), 5);
  const raw = Buffer.alloc(3 + headBytes);
  raw.writeUIntLE(headBytes << 3, 0, 3);
  raw[3] = 0x80;
  raw.writeBigUInt64LE(BigInt(megabytes * mebibyte), 4);
  const blocks = Buffer.alloc(4 * 8 * megabytes);
  for (let at = 0; at < blocks.length; at += 4)
    blocks.writeUIntLE((131_072 << 3) | 2 | (at + 4 === blocks.length ? 1 : 0), at, 3);
  return Buffer.concat([head, raw, blocks]);
}

/** A chunk of ten poses that is not packed, `count` chunks that become long, and another of ten poses; no index. */
function write(count: number, megabytes: number): string {
  const file = new McapRecordBuilder();
  file.writeMagic();
  file.writeHeader({ profile: "ros2", library: "a test" });
  const type = "geometry_msgs/PoseStamped";
  file.writeSchema({
    id: 1,
    name: "geometry_msgs/msg/PoseStamped",
    encoding: "ros2msg",
    data: Buffer.from(definitionOf(type)),
  });
  const metadata = new Map<string, string>();
  file.writeChannel({ id: 1, schemaId: 1, topic: request.topic, messageEncoding: "cdr", metadata });
  const chunk = (compression: string, size: number, records: Uint8Array): void => {
    const times = { messageStartTime: 0n, messageEndTime: 0n };
    file.writeChunk({ ...times, uncompressedSize: BigInt(size), uncompressedCrc: 0, compression, records });
  };
  const poses = (first: number): void => {
    const inner = new McapRecordBuilder();
    for (const { logTime, data } of cdrPoses(10, { first }))
      inner.writeMessage({ channelId: 1, sequence: 0, logTime, publishTime: logTime, data });
    chunk("", inner.length, inner.buffer);
  };
  poses(0);
  for (let k = 0; k < count; k++) chunk("zstd", headBytes + megabytes * mebibyte, longRecord(megabytes));
  poses(10);
  file.writeDataEnd({ dataSectionCrc: 0 });
  file.writeFooter({ summaryStart: 0n, summaryOffsetStart: 0n, summaryCrc: 0 });
  file.writeMagic();
  const path = join(folder, `bomb-${count}-${megabytes}.mcap`);
  writeFileSync(path, file.buffer);
  return path;
}

async function read(path: string): Promise<{ recovered: string | null; seconds: number; grown: number }> {
  const begun = performance.now();
  // of this thread alone: others run beside it
  const before = process.memoryUsage().arrayBuffers;
  const { signals, recovered } = await readLog([path], [request]);
  expect([...signals.get("vehicle_pose")!.columns.x!]).toEqual(Array.from({ length: 20 }, (_, i) => i));
  return {
    recovered,
    seconds: (performance.now() - begun) / 1000,
    grown: (process.memoryUsage().arrayBuffers - before) / mebibyte,
  };
}

test("chunks that become 900 MiB each are refused before anything is unpacked, and the others are read", async () => {
  const { recovered, seconds, grown } = await read(write(8, 900));
  expect(recovered).toContain(`that become ${headBytes + 900 * mebibyte} are more than can be unpacked at once`);
  expect(recovered).toContain("and 5 more");
  // the frames have 230 kB in all; one alone would take seconds and gigabytes
  expect(seconds).toBeLessThan(30);
  expect(grown).toBeLessThan(100);
});

test("chunks are unpacked one at a time and not kept", async () => {
  const { recovered, grown } = await read(write(6, 64));
  expect(recovered).toBeNull();
  // six of them are 384 MiB; one, with the decoder's room for it and the copy that it hands on, is 128 and a little
  expect(grown).toBeLessThan(200);
}, 30_000);

test("what all chunks together become is bounded by the length of the file", async () => {
  // allowed: 1024 MiB and a thousand times the file's 44 kB, which is 42 MiB. Four of 255 MiB are 1020, the fifth is too much.
  const path = write(5, 255);
  const { recovered } = await read(path);
  const bytes = statSync(path).size;
  expect(1000 * bytes).toBeLessThan(200 * mebibyte);
  expect(recovered).toMatch(
    new RegExp(
      `damaged: the chunk at byte \\d+: with it, chunks of a file of ${bytes} bytes would become more than the ${1024 * mebibyte + 1000 * bytes} that are believed$`,
    ),
  );
}, 60_000);
