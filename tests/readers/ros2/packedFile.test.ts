import { mkdirSync, readdirSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { LogError } from "../../../src/foundation/errors.ts";
import { readLog } from "../../../src/readers/readLog.ts";
import { buildMcap, cdrPoses } from "../mcap/buildMcap.ts";
import { temporaryFolder } from "../rosbag/temporaryFolder.ts";

// Frames are packed by zstd itself (as WebAssembly); what they become is the file that went in. Their headers are written
// by RFC 8878, section 3.1.1.1, as a recorder writes them that does not know the length beforehand.

const folder = temporaryFolder();
const request = { signal: "vehicle_pose", topic: "/mocap/airframe" } as const;
const zstd = createRequire(import.meta.url)("@foxglove/wasm-zstd") as {
  isLoaded: Promise<unknown>;
  compress(bytes: Uint8Array, level?: number): Uint8Array;
};
const unpackedTo = join(folder, "unpacked");
const before = process.env.TMPDIR;
let bag: Buffer = Buffer.alloc(0);

beforeAll(async () => {
  await zstd.isLoaded;
  // where files are unpacked to, so that what is left there is of this suite
  mkdirSync(unpackedTo);
  process.env.TMPDIR = unpackedTo;
  bag = await buildMcap(cdrPoses(3000), { chunkSize: 1 << 16 });
});
afterAll(() => {
  if (before === undefined) delete process.env.TMPDIR;
  else process.env.TMPDIR = before;
});

/** The same blocks behind a header that does not say the content's length: a window of 2 MiB, no checksum. */
function untold(frame: Uint8Array): Buffer {
  const bytes = Buffer.from(frame);
  const descriptor = bytes[4]!;
  const oneSegment = (descriptor & 0x20) !== 0;
  const size = [oneSegment ? 1 : 0, 2, 4, 8][descriptor >> 6]!;
  expect(descriptor & 7).toBe(0);
  // exponent 11: 2^(10 + 11) bytes
  return Buffer.concat([Buffer.from("28b52ffd0058", "hex"), bytes.subarray(5 + (oneSegment ? 0 : 1) + size)]);
}

/** A frame to be skipped: RFC 8878, section 3.1.2. */
function skipped(length: number, digit = 0): Buffer {
  const bytes = Buffer.alloc(8 + length, 0x2f);
  bytes.writeUInt32LE(0x184d2a50 + digit, 0);
  bytes.writeUInt32LE(length, 4);
  return bytes;
}

/** Blocks of 128 KiB that are one byte repeated, and a content size of eight bytes where `told`: RFC 8878, section 3.1.1.2. */
function repeated(megabytes: number, told: boolean): Buffer {
  const head = Buffer.from(told ? "28b52ffde00000000000000000" : "28b52ffd0058", "hex");
  if (told) head.writeBigUInt64LE(BigInt(megabytes * 2 ** 20), 5);
  const blocks = Buffer.alloc(4 * 8 * megabytes);
  for (let at = 0; at < blocks.length; at += 4)
    blocks.writeUIntLE((131_072 << 3) | 2 | (at + 4 === blocks.length ? 1 : 0), at, 3);
  return Buffer.concat([head, blocks]);
}

function write(name: string, ...parts: Uint8Array[]): string {
  const path = join(folder, name);
  writeFileSync(path, Buffer.concat(parts));
  return path;
}

async function expectWhole(path: string): Promise<void> {
  const { signals, recovered } = await readLog([path], [request]);
  expect(recovered).toBeNull();
  expect(readdirSync(unpackedTo)).toEqual([]);
  expect([...signals.get("vehicle_pose")!.columns.x!]).toEqual(Array.from({ length: 3000 }, (_, i) => i));
}

async function refusal(path: string): Promise<LogError> {
  const error = await readLog([path], [request]).then(
    () => null,
    (cause: unknown) => cause,
  );
  expect(error).toBeInstanceOf(LogError);
  expect(readdirSync(unpackedTo)).toEqual([]);
  return error as LogError;
}

test("a packed file that does not say how long it becomes is unpacked", async () => {
  const frame = untold(zstd.compress(bag));
  await expectWhole(write("untold.mcap.zstd", frame));
  const path = join(folder, "untold");
  mkdirSync(path);
  writeFileSync(join(path, "untold_0.mcap.zstd"), frame);
  const paths = "relative_file_paths: [untold_0.mcap.zstd]";
  writeFileSync(join(path, "metadata.yaml"), `rosbag2_bagfile_information:\n  compression_mode: FILE\n  ${paths}\n`);
  await expectWhole(path);
});

test("a packed file of several frames is unpacked, and frames that are to be skipped are", async () => {
  const cuts = [0, 1000, 1001, 70_000, bag.length];
  const frames = cuts.slice(1).map((end, i) => zstd.compress(bag.subarray(cuts[i], end)));
  await expectWhole(write("frames.mcap.zstd", ...frames));
  await expectWhole(write("mixed.mcap.zstd", ...frames.map((frame, i) => (i % 2 === 0 ? untold(frame) : frame))));
  // several at once are packed so: before each frame one to be skipped, which says how long it is
  await expectWhole(
    write("skipped.mcap.zstd", ...frames.flatMap((frame, i) => [skipped(4, i), untold(frame)]), skipped(0)),
  );
});

test("what cannot be unpacked is refused with its cause, its place and a command, and nothing is left behind", async () => {
  const frame = zstd.compress(bag);
  const cases: [string, Uint8Array[], RegExp][] = [
    [
      "junk.mcap.zstd",
      [frame, Buffer.from("junk")],
      new RegExp(`no zstd frame at byte ${frame.length}, behind others`),
    ],
    [
      "cut.mcap.zstd",
      [frame, frame.subarray(0, 900)],
      new RegExp(`ends within the frame at byte ${frame.length}|it ends after`),
    ],
    ["header.mcap.zstd", [frame.subarray(0, 5)], /it ends within the/],
    [
      "long.mcap.zstd",
      [frame, repeated(1025, true)],
      new RegExp(`frame at byte ${frame.length} that becomes ${1025 * 2 ** 20} bytes`),
    ],
    [
      "longer.mcap.zstd",
      [repeated(1025, false)],
      new RegExp(`frame at byte 0 that becomes up to ${1025 * 2 ** 20} bytes`),
    ],
    [
      "bomb.mcap.zstd",
      Array(8).fill(repeated(900, true)),
      new RegExp(`it claims to become ${8 * 900 * 2 ** 20} bytes`),
    ],
  ];
  const begun = performance.now();
  for (const [name, parts, words] of cases) {
    const path = write(name, ...parts);
    const { code, message, place, hint } = await refusal(path);
    expect(code).toBe("log-unreadable");
    expect(message).toMatch(words);
    expect(place).toBe(path);
    expect(hint).toContain(`zstd -d "${path}" -o "${path.replace(".zstd", "")}"`);
  }
  // nothing of the gigabytes was unpacked
  expect(performance.now() - begun).toBeLessThan(30_000);
});
