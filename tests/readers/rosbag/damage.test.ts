import { mkdtempSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { LogError } from "../../../src/foundation/errors.ts";
import type { Recording } from "../../../src/foundation/recording.ts";
import { inspectLog } from "../../../src/pipeline/inspectLog.ts";
import { readLog, readStamps, surveyLog } from "../../../src/readers/readLog.ts";
import { describeWith } from "../../support/available.ts";
import { runPython } from "../../support/run.ts";
import { type BuiltBag, buildBag } from "../../support/writeBag.ts";
import { counted, lz4Stored, poses } from "./poses.ts";
import { temporaryFolder } from "./temporaryFolder.ts";

const folder = temporaryFolder();
const request = { signal: "vehicle_pose", topic: "/mocap/airframe" } as const;
let files = 0;

function file(bytes: Uint8Array | string): string {
  const path = join(folder, `damage-${files++}.bag`);
  writeFileSync(path, bytes);
  return path;
}

async function read(bytes: Uint8Array | string): Promise<Recording> {
  return readLog([file(bytes)], [request]);
}

function x(recording: Recording): Float64Array {
  return recording.signals.get("vehicle_pose")?.columns.x ?? new Float64Array();
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

/** A copy with other bytes at a place. */
function overwritten(bag: BuiltBag, position: number, bytes: Uint8Array): Buffer {
  const copy = Buffer.from(bag.bytes);
  copy.set(bytes, position);
  return copy;
}

describe("what is no readable bag is refused in words, with the file's name", () => {
  const cases: [string, () => string, RegExp][] = [
    ["a missing file", () => join(folder, "none.bag"), /no such file/],
    ["a path through a file", () => join(file("x"), "b.bag"), /no such file/],
    ["an empty file", () => file(""), /empty file \(0 bytes\)/],
    ["a text file", () => file("notes of the day\n"), /starts with "notes of the day\\n", expected a log/],
    ["a binary file", () => file(Uint8Array.of(0, 255, 16)), /starts with bytes 00 ff 10/],
    ["a folder", () => mkdtempSync(join(folder, "empty-")), /found a folder/],
    ["a bag of version 1.2", () => file("#ROSBAG V1.2\nabc"), /version 1\.2, expected 2\.0/],
    ["a record of version 1.1", () => file("#ROSRECORD V1.1\nabc"), /version 1\.1, expected 2\.0/],
    ["a bag of its first line alone", () => file("#ROSBAG V2.0\n"), /13 bytes without a whole bag header/],
    ["a bag cut off in its header", () => file(buildBag(poses(3)).bytes.subarray(0, 60)), /without a whole bag header/],
    [
      "an encrypted bag",
      () => file(buildBag(poses(3), { headerFields: { encryptor: "rosbag/AesCbcEncryptor" } }).bytes),
      /encrypted with rosbag\/AesCbcEncryptor/,
    ],
    [
      "an unknown compression",
      () => file(buildBag(poses(3), { compression: "zstd" }).bytes),
      /packed with "zstd", expected none, lz4, bz2/,
    ],
  ];
  for (const [name, make, message] of cases) {
    test(name, async () => {
      const path = make();
      const error = await refusal(() => readLog([path], [request]));
      expect(error.code).toBe("log-unreadable");
      expect(error.message).toMatch(message);
      expect(error.place).toBe(path);
    });
  }

  test("one unreadable part of a split recording makes the log unreadable, and names that part", async () => {
    const good = file(buildBag(poses(3)).bytes);
    const bad = file("");
    expect((await refusal(() => readLog([good, bad], [request]))).place).toBe(bad);
  });

  test("the same file twice among the parts is refused: its messages would count twice", async () => {
    const path = file(buildBag(poses(3)).bytes);
    expect((await refusal(() => readLog([path, path], [request]))).message).toMatch(/same file twice/);
  });

  test("no part at all is refused", async () => {
    expect((await refusal(() => readLog([], [request]))).message).toMatch(/found no file/);
  });

  test("an encryptor that does nothing is no encryption", async () => {
    const { bytes } = buildBag(poses(3), { headerFields: { encryptor: "rosbag/NoEncryptor" } });
    expect(x(await read(bytes))).toEqual(counted(3));
  });
});

describe("a bag without a usable index is recovered by scanning it", () => {
  test("a recorder that was cut off between chunks loses nothing", async () => {
    const recording = await read(buildBag(poses(95), { unindexed: true }).bytes);
    expect(x(recording)).toEqual(counted(95));
    expect(recording.recovered).toMatch(/no index: scanned, 10 chunk\(s\) with 95 message\(s\) found/);
    expect(recording.start).toBe(1_700_000_001_000_000_000n);
    expect(recording.end).toBe(1_700_000_001_940_000_000n);
  });

  test("wherever an unindexed bag is cut, every whole message before the cut is kept and the rest is said", async () => {
    const bag = buildBag(poses(40), { unindexed: true });
    for (let cut = bag.dataPositions[0]!; cut < bag.bytes.length; cut += 97) {
      const recording = await read(bag.bytes.subarray(0, cut));
      const whole = wholeMessages(bag, cut);
      expect({ cut, x: [...x(recording)] }).toEqual({ cut, x: [...counted(whole)] });
      expect(recording.recovered).toMatch(/bytes are no whole record|scanned/);
    }
  });

  test("an indexed bag cut in the middle is recovered likewise", async () => {
    const bag = buildBag(poses(40));
    const recording = await read(bag.bytes.subarray(0, bag.chunkPositions[3]! + 300));
    expect(x(recording).length).toBe(wholeMessages(bag, bag.chunkPositions[3]! + 300));
    expect(recording.recovered).toMatch(/it ends before its index: scanned/);
    expect(recording.recovered).toMatch(/the file ends within it/);
  });

  test("a packed chunk that was cut is lost whole, the chunks before it are kept", async () => {
    const bag = buildBag(poses(40), { unindexed: true, compression: "lz4", pack: lz4Stored });
    const recording = await read(bag.bytes.subarray(0, bag.chunkPositions[3]! + 300));
    expect(x(recording)).toEqual(counted(30));
    expect(recording.recovered).toMatch(/3 chunk\(s\) with 30 message\(s\)/);
  });

  test("an index cut short, overwritten, or said to hold fewer chunks is not trusted", async () => {
    const bag = buildBag(poses(40));
    const counts = bag.bytes.indexOf("chunk_count=") + "chunk_count=".length;
    const damaged = [
      bag.bytes.subarray(0, bag.bytes.length - 5),
      overwritten(bag, bag.indexPosition + 40, Buffer.alloc(60, 0xff)),
      overwritten(bag, counts, Uint8Array.of(2, 0, 0, 0)),
      overwritten(bag, counts, Uint8Array.of(255, 255, 255, 255)),
    ];
    for (const bytes of damaged) {
      const recording = await read(bytes);
      expect(x(recording)).toEqual(counted(40));
      expect(recording.recovered).toMatch(/its index is damaged: scanned, 4 chunk\(s\) with 40 message\(s\) found/);
    }
  });

  test("an index that counts more messages than the file has room for is not trusted: nothing is allocated by it", async () => {
    const bag = buildBag(poses(40));
    // The last chunk info's data: connection 0 and its count, the last four bytes of the file.
    const recording = await read(overwritten(bag, bag.bytes.length - 4, Uint8Array.of(255, 255, 255, 255)));
    expect(x(recording)).toEqual(counted(40));
    expect(recording.recovered).toMatch(/its index is damaged/);
  });

  test("a bag cut behind its header holds nothing, and says so", async () => {
    const bag = buildBag(poses(5), { unindexed: true });
    const recording = await read(bag.bytes.subarray(0, bag.chunkPositions[0]! + 6));
    expect(recording.start).toBeNull();
    expect(recording.missing.map(({ reason }) => reason)).toEqual(["absent"]);
    expect(recording.recovered).toMatch(/0 message\(s\) found; the last 6 of/);
  });
});

/** Whole messages in the first `cut` bytes of an uncompressed bag of `poses`, by walking its bytes for their record headers. */
function wholeMessages(bag: BuiltBag, cut: number): number {
  // Each message record: a 38-byte header behind its length, then the data's length, then 81 bytes of pose.
  const mark = Buffer.from([4, 0, 0, 0, ...Buffer.from("op="), 2]);
  let count = 0;
  for (let at = bag.bytes.indexOf(mark); at >= 0; at = bag.bytes.indexOf(mark, at + 1)) {
    const start = at - 4;
    const data = start + 4 + bag.bytes.readUInt32LE(start);
    if (data + 4 + bag.bytes.readUInt32LE(data) <= cut) count++;
  }
  return count;
}

describe("one damaged chunk costs that chunk only", () => {
  test("uncompressed: what lies before the damage in the chunk is kept", async () => {
    const bag = buildBag(poses(40));
    const mark = Buffer.from([4, 0, 0, 0, ...Buffer.from("op="), 2]);
    let at = bag.dataPositions[1]!;
    for (let i = 0; i < 4; i++) at = bag.bytes.indexOf(mark, at + 1);
    const recording = await read(overwritten(bag, at - 4, Buffer.alloc(4, 0xff)));
    expect([...x(recording)]).toEqual([...counted(13), ...counted(20, 20)]);
    expect(recording.recovered).toMatch(/lost 7 of 10 message\(s\): a record header of 4294967295 bytes/);
  });

  test("a message that one flipped bit gives to another topic is missed: the index counts by topic", async () => {
    const bag = buildBag([...poses(5), ...poses(5, { topic: "/mocap/tool" })]);
    const number = bag.bytes.indexOf(Buffer.from("conn=\0\0\0\0", "latin1"), bag.bytes.indexOf("op=\u0002")) + 5;
    const recording = await read(overwritten(bag, number, Uint8Array.of(1)));
    expect([...x(recording)]).toEqual([1, 2, 3, 4]);
    expect(recording.recovered).toMatch(/holds 4 message\(s\) of \/mocap\/airframe, its index counts 5$/);
  });

  test("a chunk whose times no message of it has is reported: the log would be said to begin decades before", async () => {
    const bag = buildBag(poses(40));
    const time = bag.bytes.indexOf("start_time=", bag.indexPosition) + "start_time=".length;
    const recording = await read(overwritten(bag, time, Buffer.alloc(8)));
    expect([...x(recording)]).toEqual([...counted(40)]);
    expect(recording.recovered).toMatch(
      /is said to hold messages of 0 s to 1700000001 s, it holds some of 1700000001 s to 1700000001 s$/,
    );
  });

  test("a pose behind a name that is said to be shorter is not read from elsewhere", async () => {
    const bag = buildBag(poses(5));
    const second = bag.bytes.indexOf("arena", bag.bytes.indexOf("arena") + 1);
    const recording = await read(overwritten(bag, second - 4, Uint8Array.of(4)));
    expect([...x(recording)]).toEqual([0, 2, 3, 4]);
    expect(recording.recovered).toMatch(/1 message\(s\) are no whole geometry_msgs\/PoseStamped/);
  });

  test("inspecting the log reports it, though its index knows nothing of it", async () => {
    const bag = buildBag(poses(40), { compression: "lz4", pack: lz4Stored });
    const path = file(overwritten(bag, bag.dataPositions[1]!, Buffer.alloc(12, 0xee)));
    expect((await surveyLog(path)).recovered).toBeNull();
    const stamps = await readStamps(path, [request.topic]);
    expect(stamps.topics.get(request.topic)!.received.seconds).toHaveLength(30);
    expect(stamps.damage).toEqual([expect.stringMatching(/lost 10 of 10 message\(s\): its lz4 data cannot/)]);
    expect((await inspectLog(path)).recovered).toBe(stamps.damage[0]);
    expect((await inspectLog(file(bag.bytes))).recovered).toBeNull();
  });

  for (const [name, options, words] of [
    ["lz4", { compression: "lz4", pack: lz4Stored }, /lz4 data cannot be unpacked/],
    ["bz2", { compression: "bz2", pack: bzip2 }, /bz2 data cannot be unpacked/],
  ] as const) {
    describeWith(name === "bz2" ? ["rosbag"] : [], `packed with ${name}`, () => {
      test("the chunk is lost, the rest kept, and the next log can be read", async () => {
        const bag = buildBag(poses(40), options);
        const recording = await read(overwritten(bag, bag.dataPositions[1]!, Buffer.alloc(12, 0xee)));
        expect([...x(recording)]).toEqual([...counted(10), ...counted(20, 20)]);
        expect(recording.recovered).toMatch(/^the chunk at byte \d+ lost 10 of 10 message\(s\): /);
        expect(recording.recovered).toMatch(words);
        const next = await read(bag.bytes);
        expect(next.recovered).toBeNull();
        expect(x(next)).toEqual(counted(40));
      });

      test("the codec does not meddle with what the process does on an error", async () => {
        await read(buildBag(poses(10), options).bytes);
        for (const event of ["uncaughtException", "unhandledRejection"]) {
          const listeners = process.listeners(event as "exit").map(String);
          expect(listeners.filter((source) => /ExitStatus|throw reason/.test(source))).toEqual([]);
        }
      });

      test("a size that no such chunk can have is refused before anything is allocated", async () => {
        const bag = buildBag(poses(40), options);
        const size = bag.bytes.indexOf("size=", bag.chunkPositions[2]!) + "size=".length;
        const recording = await read(overwritten(bag, size, Uint8Array.of(255, 255, 255, 255)));
        expect([...x(recording)]).toEqual([...counted(20), ...counted(10, 30)]);
        expect(recording.recovered).toMatch(/lost 10 of 10 message\(s\): \d+ packed bytes cannot become 4294967295/);
      });

      test("a size that is wrong by a byte loses the chunk", async () => {
        const bag = buildBag(poses(40), options);
        const size = bag.bytes.indexOf("size=", bag.chunkPositions[2]!) + "size=".length;
        const wrong = Buffer.alloc(4);
        wrong.writeUInt32LE(bag.bytes.readUInt32LE(size) + 1);
        const recording = await read(overwritten(bag, size, wrong));
        expect([...x(recording)]).toEqual([...counted(20), ...counted(10, 30)]);
        expect(recording.recovered).toMatch(/unpacked to \d+ bytes, expected \d+/);
      });
    });
  }

  test("a compression whose name is damaged is damage, not a compression of another kind", async () => {
    const bag = buildBag(poses(40));
    const name = bag.bytes.indexOf("compression=none", bag.chunkPositions[1]!) + "compression=".length;
    const recording = await read(overwritten(bag, name, Uint8Array.of(0xfd)));
    expect([...x(recording)]).toEqual([...counted(10), ...counted(20, 20)]);
    expect(recording.recovered).toMatch(/lost 10 of 10 message\(s\): the name of its compression is none/);
  });

  test("a chunk whose header is overwritten is lost, the rest kept", async () => {
    const bag = buildBag(poses(40));
    const recording = await read(overwritten(bag, bag.chunkPositions[1]!, Buffer.alloc(30, 0xff)));
    expect([...x(recording)]).toEqual([...counted(10), ...counted(20, 20)]);
    expect(recording.recovered).toMatch(/lost 10 of 10 message\(s\): no chunk where the index says/);
  });
});

test("whatever four bytes of a bag are overwritten, it is read or refused, never worse", async () => {
  const options = [{}, { unindexed: true }, { compression: "lz4", pack: lz4Stored }];
  for (const option of options) {
    const bag = buildBag(poses(12), { perChunk: 4, ...option });
    const places = Array.from({ length: bag.bytes.length }, (_, i) => i).filter(
      (i) => (i < 200 || i > 4100) && i % 7 === 0,
    );
    for (const place of places) {
      const path = file(overwritten(bag, place, Buffer.alloc(Math.min(4, bag.bytes.length - place), 0xff)));
      try {
        const recording = await readLog([path], [request]);
        expect(x(recording).length).toBeLessThanOrEqual(12);
        await surveyLog(path);
      } catch (cause) {
        expect(cause).toBeInstanceOf(LogError);
      }
    }
  }
});

function bzip2(data: Buffer): Buffer {
  const text = runPython<string>(
    "import sys, json, bz2, base64; print(json.dumps(base64.b64encode(bz2.compress(base64.b64decode(json.load(sys.stdin)))).decode()))",
    data.toString("base64"),
  );
  return Buffer.from(text, "base64");
}
