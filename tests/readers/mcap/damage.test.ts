import { mkdtempSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { LogError } from "../../../src/foundation/errors.ts";
import type { Recording } from "../../../src/foundation/recording.ts";
import { readLog, surveyLog } from "../../../src/readers/readLog.ts";
import { counted } from "../rosbag/poses.ts";
import { temporaryFolder } from "../rosbag/temporaryFolder.ts";
import { buildMcap, cdrPoses, type McapOptions, recordsOf } from "./buildMcap.ts";

const folder = temporaryFolder();
const request = { signal: "vehicle_pose", topic: "/mocap/airframe" } as const;
let files = 0;

function file(bytes: Uint8Array | string): string {
  // few names: thousands of broken files follow, and each is read before the next is written
  const path = join(folder, `damage-${files++ % 50}.mcap`);
  writeFileSync(path, bytes);
  return path;
}

async function read(bytes: Uint8Array | string): Promise<Recording> {
  return readLog([file(bytes)], [request]);
}

function x(recording: Recording): number[] {
  return [...(recording.signals.get("vehicle_pose")?.columns.x ?? [])];
}

async function refusal(run: () => Promise<unknown>): Promise<LogError> {
  try {
    await run();
  } catch (cause) {
    expect(cause).toBeInstanceOf(LogError);
    return cause as LogError;
  }
  throw new Error("expected a LogError, found none");
}

function overwritten(bytes: Buffer, position: number, other: Uint8Array): Buffer {
  const copy = Buffer.from(bytes);
  copy.set(other.subarray(0, copy.length - position), position);
  return copy;
}

function u64(value: bigint): Buffer {
  const bytes = Buffer.alloc(8);
  bytes.writeBigUInt64LE(value);
  return bytes;
}

function u32(value: number): Buffer {
  const bytes = Buffer.alloc(4);
  bytes.writeUInt32LE(value);
  return bytes;
}

/** Poses in each chunk, from the index records behind them: one channel, sixteen bytes for each message. */
function shares(bytes: Buffer): number[] {
  return recordsOf(bytes)
    .filter(({ op }) => op === 7)
    .map(({ position }) => bytes.readUInt32LE(position + 9 + 2) / 16);
}

/** The poses of all chunks but one. */
function without(bytes: Buffer, chunk: number): number[] {
  const counts = shares(bytes);
  const before = counts.slice(0, chunk).reduce((sum, count) => sum + count, 0);
  const total = counts.reduce((sum, count) => sum + count, 0);
  return [...counted(total)].filter((i) => i < before || i >= before + counts[chunk]!);
}

/** Numbers from 0 to 1 that are the same in every run (mulberry32). */
function seeded(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4_294_967_296;
  };
}

/** Reads and surveys; what is found must be poses of the file, in order and each at most once. */
async function neverWorse(bytes: Buffer, count: number, options: { intact: boolean }): Promise<Recording | null> {
  const path = file(bytes);
  let recording: Recording | null = null;
  try {
    recording = await readLog([path], [request]);
    const found = x(recording);
    expect(found.length).toBeLessThanOrEqual(count);
    if (options.intact)
      for (const [i, value] of found.entries()) {
        expect(Number.isInteger(value) && value >= 0 && value < count).toBe(true);
        if (i > 0) expect(value).toBeGreaterThan(found[i - 1]!);
      }
  } catch (cause) {
    expect(cause).toBeInstanceOf(LogError);
  }
  try {
    await surveyLog(path);
  } catch (cause) {
    expect(cause).toBeInstanceOf(LogError);
  }
  return recording;
}

describe("what is no readable MCAP file is refused in words, with the file's name", () => {
  const magic = Buffer.from("894d434150300d0a", "hex");
  const cases: [string, () => string, RegExp][] = [
    ["a missing file", () => join(folder, "none.mcap"), /no such file/],
    ["an empty file", () => file(""), /empty file \(0 bytes\)/],
    ["a text file", () => file("notes of the day\n"), /starts with "notes of the day\\n", expected a log/],
    ["a folder", () => mkdtempSync(join(folder, "empty-")), /found a folder/],
    ["half of the first bytes", () => file(magic.subarray(0, 5)), /found 5 bytes without a whole MCAP beginning/],
    ["the first bytes alone", () => file(magic), /found 8 bytes without a whole record/],
    ["another version", () => file(Buffer.from("894d434150310d0a00", "hex")), /of version "1", expected "0"/],
    ["a file copied as text", () => file(Buffer.from("894d434150300a0a", "hex")), /without a whole MCAP beginning/],
  ];
  for (const [name, path, words] of cases)
    test(name, async () => {
      const place = path();
      const error = await refusal(() => readLog([place], [request]));
      expect(error.code).toBe("log-unreadable");
      expect(error.message).toMatch(words);
      expect(error.place).toBe(place);
      await refusal(() => surveyLog(place));
    });

  test("a compression of another kind", async () => {
    const bytes = await buildMcap(cdrPoses(20), {
      writer: { compressChunk: (data) => ({ compression: "snappy", compressedData: data }) },
    });
    const error = await refusal(() => read(bytes));
    expect(error.message).toMatch(/a chunk packed with "snappy", expected none, lz4 or zstd/);
    expect((await surveyLog(file(bytes))).compression).toEqual(["snappy"]);
  });
});

const forms: [string, McapOptions][] = [
  ["not packed", {}],
  ["lz4", { compression: "lz4" }],
  ["zstd", { compression: "zstd" }],
  ["without chunks", { writer: { useChunks: false } }],
];

for (const [name, options] of forms)
  describe(`a file that was cut off is read as far as it goes (${name})`, () => {
    test("at every record boundary: every chunk before it is whole", async () => {
      const bytes = await buildMcap(cdrPoses(40), options);
      const records = recordsOf(bytes);
      const counts = shares(bytes);
      let least = 0;
      for (const { position, length, op } of records) {
        const recording = await neverWorse(bytes.subarray(0, position + length), 40, { intact: true });
        if (op === 5) least++;
        if (op === 6) least += counts.shift()!;
        if (least === 0) continue;
        expect(x(recording!)).toEqual([...counted(least)]);
        expect(recording!.recovered).toMatch(/was not closed by its recorder and has no index: scanned/);
      }
      expect(least).toBe(40);
    });

    test("at any byte", async () => {
      const bytes = await buildMcap(cdrPoses(40), options);
      const dice = seeded(3);
      for (let i = 0; i < 150; i++) {
        const at = Math.floor(dice() * bytes.length);
        const recording = await neverWorse(bytes.subarray(0, at), 40, { intact: true });
        if (recording !== null) expect(recording.recovered).not.toBeNull();
      }
    });

    test("whatever four bytes are overwritten, it is read or refused, never worse", async () => {
      const bytes = await buildMcap(cdrPoses(12), { ...options, chunkSize: 400 });
      const dice = seeded(4);
      for (let place = 0; place < bytes.length; place += 7) {
        const other = dice() < 0.5 ? Buffer.alloc(4, 0xff) : Buffer.from(Array.from({ length: 4 }, () => dice() * 256));
        await neverWorse(overwritten(bytes, place, other), 12, { intact: false });
      }
    });
  });

test("a cut chunk that is not packed gives the poses that are whole in it", async () => {
  const bytes = await buildMcap(cdrPoses(40));
  const third = recordsOf(bytes).filter(({ op }) => op === 6)[2]!;
  const recording = await read(bytes.subarray(0, third.position + third.length - 200));
  expect(x(recording).length).toBeGreaterThan(16);
  expect(x(recording)).toEqual([...counted(x(recording).length)]);
  expect(recording.recovered).toMatch(/damaged: the chunk at byte \d+: the file ends within it/);
});

describe("damage within a closed file costs what is damaged, and is reported", () => {
  test("a bit of a pose that changed: the checksum tells, the pose is read as it is", async () => {
    const bytes = await buildMcap(cdrPoses(40));
    const second = recordsOf(bytes).filter(({ op }) => op === 6)[1]!;
    const recording = await read(overwritten(bytes, second.position + second.length - 20, Uint8Array.of(1)));
    expect(x(recording)).toHaveLength(40);
    expect(recording.recovered).toMatch(
      /the chunk at byte \d+ does not match its checksum: its \d+ message\(s\) are read as they are/,
    );
  });

  test("a chunk that is too long to be held against its checksum is read as it is, and that is said", async () => {
    const image = { ...cdrPoses(1)[0]!, topic: "/camera", data: Buffer.alloc(5 << 20) };
    const whole = await read(await buildMcap([...cdrPoses(40), image], { chunkSize: 16 << 20 }));
    expect(x(whole)).toEqual([...counted(40)]);
    expect(whole.recovered).toBeNull();
    expect(whole.checks).toMatchObject([{ code: "recovered", severity: "note", evidence: { chunks: 1 } }]);
    // in chunks as recorders write them there is nothing to say
    expect((await read(await buildMcap(cdrPoses(40)))).checks).toBeUndefined();
  });

  for (const compression of ["lz4", "zstd"] as const)
    test(`a damaged ${compression} frame loses its chunk, the chunks behind it are kept`, async () => {
      const bytes = await buildMcap(cdrPoses(40), { compression });
      const second = recordsOf(bytes).filter(({ op }) => op === 6)[1]!;
      const recording = await read(overwritten(bytes, second.position + 60, Buffer.alloc(40, 0xff)));
      expect(x(recording)).toEqual(without(bytes, 1));
      expect(recording.recovered).toMatch(/lost (\d+) of \1 message\(s\): its (lz4|zstd) data cannot be unpacked/);
    });

  test("an index that does not match its checksum is not used", async () => {
    const bytes = await buildMcap(cdrPoses(40));
    const index = recordsOf(bytes).find(({ op }) => op === 8)!;
    const recording = await read(overwritten(bytes, index.position + 25, Uint8Array.of(0x77)));
    expect(x(recording)).toEqual([...counted(40)]);
    expect(recording.recovered).toMatch(
      /its index does not match its checksum: scanned, \d chunk\(s\) with 40 message\(s\) found/,
    );
  });

  test("a footer that is overwritten", async () => {
    const bytes = await buildMcap(cdrPoses(40));
    const recording = await read(overwritten(bytes, bytes.length - 8 - 29, Buffer.alloc(29, 0xff)));
    expect(x(recording)).toEqual([...counted(40)]);
    expect(recording.recovered).toMatch(/its end is damaged: scanned/);
  });

  test("a footer that points anywhere", async () => {
    const bytes = await buildMcap(cdrPoses(40));
    for (const place of [1n, 9n, BigInt(bytes.length), 2n ** 40n, 2n ** 63n]) {
      const recording = await read(overwritten(bytes, bytes.length - 8 - 20, u64(place)));
      expect(x(recording)).toEqual([...counted(40)]);
      expect(recording.recovered).toMatch(/scanned, \d chunk\(s\) with 40 message\(s\) found/);
    }
  });
});

describe("lengths and counts that cannot be take neither time nor memory", () => {
  /** A file whose summary has no checksum, so that what it says is believed as far as it can be. */
  async function trusted(options: McapOptions = {}): Promise<Buffer> {
    const bytes = await buildMcap(cdrPoses(40), options);
    return overwritten(bytes, bytes.length - 8 - 4, Buffer.alloc(4));
  }

  async function bounded(bytes: Buffer): Promise<Recording> {
    const before = process.memoryUsage().arrayBuffers;
    const begun = performance.now();
    const recording = await read(bytes);
    // generous for a busy machine: the files are 10 kB long, what they claim would take minutes and gigabytes
    expect(performance.now() - begun).toBeLessThan(20_000);
    expect(process.memoryUsage().arrayBuffers - before).toBeLessThan(5e7);
    return recording;
  }

  test("statistics of a billion messages", async () => {
    const bytes = await trusted();
    const statistics = recordsOf(bytes).find(({ op }) => op === 0x0b)!;
    const many = u64(10n ** 12n);
    const wrong = overwritten(
      overwritten(bytes, statistics.position + 9, many),
      statistics.position + statistics.length - 8,
      many,
    );
    expect(x(await bounded(wrong))).toEqual([...counted(40)]);
  });

  test("a chunk index of terabytes", async () => {
    const bytes = await trusted();
    const index = recordsOf(bytes).find(({ op }) => op === 8)!;
    for (const offset of [16, 24])
      expect(x(await bounded(overwritten(bytes, index.position + 9 + offset, u64(2n ** 42n))))).toEqual([
        ...counted(40),
      ]);
  });

  for (const compression of ["lz4", "zstd"] as const)
    test(`a ${compression} chunk that says it becomes a gigabyte, or more than a file can have`, async () => {
      const bytes = await trusted({ compression });
      const chunk = recordsOf(bytes).find(({ op }) => op === 6)!;
      for (const size of [1000n, 2n ** 29n, 2n ** 34n, 2n ** 60n, 2n ** 64n - 1n]) {
        const recording = await bounded(overwritten(bytes, chunk.position + 9 + 16, u64(size)));
        expect(x(recording)).toEqual(without(bytes, 0));
        expect(recording.recovered).toMatch(/lost (\d+) of \1 message\(s\)/);
      }
    });

  test("records longer than their chunk, strings longer than their record, maps longer than theirs", async () => {
    const bytes = await trusted();
    const records = recordsOf(bytes);
    const chunk = records.find(({ op }) => op === 6)!;
    const channel = records.find(({ op }) => op === 4)!;
    // the first record inside: behind start, end, size, checksum, the name "" and the length
    const inner = chunk.position + 9 + 40;
    for (const length of [2n ** 20n, 2n ** 53n, 2n ** 64n - 1n])
      expect(x(await bounded(overwritten(bytes, inner + 1, u64(length))))).toEqual(without(bytes, 0));
    for (const place of [4, channel.length - 9 - 4])
      expect(x(await bounded(overwritten(bytes, channel.position + 9 + place, u32(2 ** 32 - 1))))).toEqual([
        ...counted(40),
      ]);
  });

  test("messages whose own counts and strings reach beyond them", async () => {
    const messages = cdrPoses(6);
    Buffer.from(messages[1]!.data.buffer, messages[1]!.data.byteOffset).writeUInt32LE(2 ** 32 - 1, 12);
    const cut = messages.map((message, i) => (i === 3 ? { ...message, data: message.data.subarray(0, 60) } : message));
    const none = cut.map((message, i) => (i === 4 ? { ...message, data: new Uint8Array() } : message));
    const recording = await bounded(await buildMcap(none));
    expect(x(recording)).toEqual([0, 2, 5]);
    expect(recording.recovered).toMatch(/3 message\(s\) are no whole geometry_msgs\/msg\/PoseStamped/);
  });

  test("arrays of a `fields:` type that are longer than their message, in either byte order", async () => {
    const data = (order: number): Buffer => {
      const bytes = Buffer.alloc(16);
      bytes[1] = order;
      if (order === 1) bytes.writeUInt32LE(2 ** 27, 4);
      else bytes.writeUInt32BE(2 ** 27, 4);
      return bytes;
    };
    const bytes = await buildMcap(
      [1, 0, 1, 0].map((order, i) => ({
        topic: "/lab",
        type: "lab_msgs/msg/Values",
        definition: "float64[] values",
        logTime: BigInt(i),
        data: data(order),
      })),
    );
    const begun = performance.now();
    const recording = await readLog(
      [file(bytes)],
      [{ signal: "vehicle_pose", topic: "/lab", fields: { x: "values[0]" } }],
    );
    expect(performance.now() - begun).toBeLessThan(20_000);
    expect(recording.missing[0]).toMatchObject({ reason: "empty" });
    expect(recording.recovered).toMatch(/4 message\(s\) are no whole lab_msgs\/msg\/Values/);
  });
});

test("names that are no UTF-8 are read with a replacement character", async () => {
  const bytes = await buildMcap([
    ...cdrPoses(5, { frame: Uint8Array.of(0x61, 0xff, 0x62) }),
    ...cdrPoses(5, { topic: "/bad_name" }),
  ]);
  let changed = bytes;
  for (let at = bytes.indexOf("/bad_name"); at >= 0; at = bytes.indexOf("/bad_name", at + 1))
    changed = overwritten(changed, at + 4, Uint8Array.of(0xfe));
  const recording = await read(changed);
  expect(x(recording)).toEqual([...counted(5)]);
  expect(recording.signals.get("vehicle_pose")!.frameId).toBe("a\ufffdb");
  const survey = await surveyLog(file(changed));
  expect(survey.topics.map(({ topic }) => topic)).toEqual(["/bad\ufffdname", "/mocap/airframe"].sort());
});
