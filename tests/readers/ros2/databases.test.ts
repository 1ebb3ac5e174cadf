import { copyFileSync, existsSync, mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { beforeAll, describe, expect, test } from "vitest";
import { LogError } from "../../../src/foundation/errors.ts";
import { signalNames } from "../../../src/foundation/tracks.ts";
import { seededRandom } from "../../../src/numeric/seededRandom.ts";
import { layoutOf } from "../../../src/readers/messages/definition.ts";
import { knownType, typesFor } from "../../../src/readers/messages/signalTypes.ts";
import { readLog, surveyLog } from "../../../src/readers/readLog.ts";
import { builtInDefinition } from "../../../src/readers/ros2/builtInDefinition.ts";
import { describeWith } from "../../support/available.ts";
import { runPython } from "../../support/run.ts";
import { temporaryFolder } from "../rosbag/temporaryFolder.ts";

const folder = temporaryFolder();
const at = (name: string): string => join(folder, name);
const request = { signal: "vehicle_pose", topic: "/mocap/airframe" } as const;
const read = (path: string) => readLog([path], [request]);

/** Needs no more than a Python with sqlite3; scipy stands for Debian's. */
describeWith(["scipy"], "databases of every shape, written by the reference implementation of the format", () => {
  let names: readonly string[] = [];
  beforeAll(() => {
    names = runPython(readFileSync(join(import.meta.dirname, "databases.py"), "utf8"), folder);
  });

  test("give the poses that were written, in order and to the last bit", async () => {
    expect(names.length).toBeGreaterThan(10);
    for (const name of names) {
      const { signals, recovered, start } = await read(at(name));
      const { columns, stamped, frameId } = signals.get("vehicle_pose")!;
      const rows = name === "many-rows.db3" ? 5000 : 40;
      // databases.py writes x = k / 8, y = -k / 16 and a stamp every 10 ms
      expect([name, columns.x!.length]).toEqual([name, rows]);
      for (let k = 0; k < rows; k++) {
        expect(columns.x![k]).toBe(k / 8);
        expect(columns.y![k]).toBe(0 - k / 16);
        expect(stamped!.epoch + BigInt(Math.round(stamped!.seconds[k]! * 1e9))).toBe(
          1_700_000_000_000_000_000n + BigInt(k) * 10_000_000n,
        );
      }
      expect(start).toBe(1_700_000_000_000_000_000n);
      expect(frameId).toMatch(/^(map|m+)$/);
      // databases.py gives images.db3 a message of topic 9, which is in no table of topics, behind each pose
      expect(recovered).toBe(
        name === "images.db3" ? "40 message(s) belong to no row of the table of topics (topic_id 9): left out" : null,
      );
    }
  });

  test("a database whose recorder was killed is read with its write-ahead log, up to the last commit", async () => {
    expect(existsSync(at("killed-wal.db3-wal"))).toBe(true);
    const without = at("without-log.db3");
    copyFileSync(at("killed-wal.db3"), without);
    // the log holds everything: without it there is not even a table
    await expect(read(without)).rejects.toThrow(/without the table messages/);
    const foreign = at("foreign-log.db3");
    copyFileSync(at("page-1024.db3"), foreign);
    copyFileSync(at("killed-wal.db3-wal"), `${foreign}-wal`);
    const { recovered, signals } = await read(foreign);
    expect(recovered).toContain("a write-ahead log lies beside it that does not belong to it");
    expect(signals.get("vehicle_pose")!.columns.x).toHaveLength(40);
  });

  test("rows without a time are reported, large topic numbers stay apart, and an empty definition is none", async () => {
    const fields = { x: "pose.position.x", y: "pose.position.y", z: "pose.position.z" };
    const { signals, recovered, start } = await readLog(
      [at("odd-rows.db3")],
      [request, { signal: "effector_pose", topic: "/mocap/tool", fields }],
    );
    expect([...signals.get("vehicle_pose")!.columns.x!]).toEqual([0, 1, 3, 4, 6, 8, 9].map((k) => k / 8));
    expect([...signals.get("effector_pose")!.columns.x!]).toEqual(Array.from({ length: 10 }, (_, k) => (100 + k) / 8));
    expect(start).toBe(1_700_000_000_000_000_000n);
    expect(recovered).toContain("3 row(s) hold no message that can be read");
  });

  test("a span is kept by the time of the rows", async () => {
    const { signals } = await readLog([at("many-rows.db3")], [request], { span: [1, 1.05] });
    expect([...signals.get("vehicle_pose")!.columns.x!]).toEqual([100, 101, 102, 103, 104].map((k) => k / 8));
  });

  test("types without a header and with their definition in the file are read through `fields`", async () => {
    const { signals } = await readLog(
      [at("definitions.db3")],
      [{ signal: "effector_pose", topic: "/tip", fields: { x: "reach", y: "reach", z: "step" } }],
    );
    expect([...signals.get("effector_pose")!.columns.z!]).toEqual(Array.from({ length: 40 }, (_, k) => k));
  });

  test("types whose definition the file does not have are read through `fields` by the built-in one", async () => {
    const fields = { x: "pose.position.y", y: "pose.position.x", z: "pose.position.z" };
    const { signals, missing } = await readLog([at("page-1024.db3")], [{ ...request, fields }]);
    expect(missing).toEqual([]);
    expect(signals.get("vehicle_pose")!.columns.x![16]).toBe(-1);
  });

  test("files cut at every page, and files with damaged bytes, give what is left or a refusal, never a fault", async () => {
    const whole = readFileSync(at("many-rows.db3"));
    const random = seededRandom(611);
    const damaged: Buffer[] = [];
    for (let end = 0; end < whole.length; end += Math.max(512, Math.floor(whole.length / 60 / 512) * 512))
      damaged.push(whole.subarray(0, end), whole.subarray(0, end + Math.floor(512 * random.uniform())));
    for (let k = 0; k < 150; k++) {
      const copy = Buffer.from(whole);
      // the header and the first pages, which everything hangs on, more often than their share
      const reach = k % 3 === 0 ? 2048 : copy.length;
      for (let n = 0; n <= k % 5; n++) copy[Math.floor(reach * random.uniform())] = Math.floor(256 * random.uniform());
      damaged.push(copy);
    }
    let recovered = 0;
    let refused = 0;
    for (const [k, bytes] of damaged.entries()) {
      const path = at(`damaged-${k % 4}.db3`);
      writeFileSync(path, bytes);
      try {
        const recording = await read(path);
        await surveyLog(path);
        if (recording.recovered !== null) recovered++;
        const x = recording.signals.get("vehicle_pose")?.columns.x;
        expect(x === undefined || x.length <= 5000).toBe(true);
      } catch (error) {
        expect(error).toBeInstanceOf(LogError);
        refused++;
      }
    }
    expect(recovered).toBeGreaterThan(50);
    expect(refused).toBeGreaterThan(2);
  }, 60_000);

  test("a file cut in the middle keeps the rows before the cut", async () => {
    const whole = readFileSync(at("many-rows.db3"));
    const path = at("half.db3");
    writeFileSync(path, whole.subarray(0, Math.floor(whole.length / 2)));
    const { signals, recovered } = await read(path);
    const { x } = signals.get("vehicle_pose")!.columns;
    expect(x!.length).toBeGreaterThan(1000);
    for (let k = 1; k < 1000; k++) expect(x![k]! - x![k - 1]!).toBe(1 / 8);
    expect(recovered).toMatch(/the file ends after \d+ of \d+ pages/);
  });

  describe("folders", () => {
    const bag = (name: string): string => {
      const path = at(name);
      mkdirSync(path, { recursive: true });
      return path;
    };
    const metadata = (files: readonly string[], mode = ""): string =>
      `rosbag2_bagfile_information:\n  version: 4\n  compression_format: ${mode === "" ? '""' : "zstd"}\n  compression_mode: "${mode}"\n  relative_file_paths: [${files.join(", ")}]\n`;

    test("with a file that metadata.yaml names and that is gone, and one it does not name", async () => {
      const path = bag("gone");
      copyFileSync(at("page-512.db3"), join(path, "gone_0.db3"));
      writeFileSync(join(path, "metadata.yaml"), metadata(["gone_0.db3", "gone_1.db3"]));
      expect((await read(path)).recovered).toBe("metadata.yaml names gone_1.db3, which is not there");
      copyFileSync(at("page-1024.db3"), join(path, "gone_2.db3"));
      const { recovered, signals } = await read(path);
      expect(recovered).toContain("metadata.yaml does not name gone_2.db3: read as well");
      expect(signals.get("vehicle_pose")!.columns.x).toHaveLength(80);
    });

    test("with metadata that is none are read all the same", async () => {
      const path = bag("unread");
      copyFileSync(at("page-512.db3"), join(path, "a.db3"));
      for (const text of ["", "nonsense: [", "a: &a [*a]", "rosbag2_bagfile_information: {relative_file_paths: 7}"]) {
        writeFileSync(join(path, "metadata.yaml"), text);
        const { recovered, signals } = await read(path);
        expect(recovered).toContain("metadata.yaml cannot be read");
        expect(signals.size).toBe(1);
      }
    });

    test("with one damaged file among good ones tell it and go on", async () => {
      const path = bag("partly");
      copyFileSync(at("page-512.db3"), join(path, "p_0.db3"));
      writeFileSync(join(path, "p_1.db3"), "");
      writeFileSync(join(path, "metadata.yaml"), metadata(["p_0.db3", "p_1.db3"]));
      const { recovered, signals } = await read(path);
      expect(recovered).toContain("p_1.db3: found an empty file (0 bytes)");
      expect(signals.get("vehicle_pose")!.columns.x).toHaveLength(40);
    });

    test("without any file of a bag are refused", async () => {
      const path = bag("nothing");
      writeFileSync(join(path, "notes.txt"), "x");
      await expect(read(path)).rejects.toThrow(/found a folder without a file of a ROS 2 bag \(notes.txt\)/);
    });

    describe("packed by zstd", () => {
      const zstd = createRequire(import.meta.url)("@foxglove/wasm-zstd") as {
        isLoaded: Promise<unknown>;
        compress?: (bytes: Uint8Array, level?: number) => Uint8Array;
      };

      test("a file as a whole is unpacked; a damaged one is refused", async () => {
        await zstd.isLoaded;
        const packed = zstdFrame(readFileSync(at("page-512.db3")));
        const path = bag("packed");
        writeFileSync(join(path, "packed_0.db3.zstd"), packed);
        writeFileSync(join(path, "metadata.yaml"), metadata(["packed_0.db3.zstd"], "FILE"));
        for (const log of [path, join(path, "packed_0.db3.zstd")]) {
          const { signals, recovered } = await read(log);
          expect(recovered).toBeNull();
          expect(signals.get("vehicle_pose")!.columns.x).toHaveLength(40);
          expect((await surveyLog(log)).compression).toEqual(["zstd (file)"]);
        }
        for (const end of [4, 5, 9, packed.length - 5]) {
          writeFileSync(at("cut.db3.zstd"), packed.subarray(0, end));
          await expect(read(at("cut.db3.zstd"))).rejects.toThrow(/a zstd file that cannot be unpacked/);
        }
      });

      test("messages one by one are unpacked; damaged ones are counted", async () => {
        const path = bag("messages");
        runPython<null>(
          `
import json, sqlite3, sys
source, target, frames = json.load(sys.stdin)
import shutil
shutil.copy(source, target)
database = sqlite3.connect(target)
for k, (row, data) in enumerate(database.execute("select id, data from messages order by id").fetchall()):
    # a frame of one segment whose only block is raw: RFC 8878, 3.1.1
    n = len(data)
    frame = bytes.fromhex("28b52ffd") + bytes([0x20, n]) + ((n << 3) | 1).to_bytes(3, "little") + data
    database.execute("update messages set data = ? where id = ?", (frame if k != 7 else frame[:20], row))
database.commit()
print("null")
`,
          [at("page-4096.db3").replace("4096", "8192"), join(path, "m_0.db3"), []],
        );
        writeFileSync(join(path, "metadata.yaml"), metadata(["m_0.db3"], "MESSAGE"));
        const { signals, recovered } = await read(path);
        expect(recovered).toBe("1 message(s) cannot be unpacked");
        expect([...signals.get("vehicle_pose")!.columns.x!].slice(0, 9)).toEqual(
          [0, 1, 2, 3, 4, 5, 6, 8, 9].map((k) => k / 8),
        );
      });
    });
  });
});

/** A frame of raw blocks: RFC 8878, sections 3.1.1.1 and 3.1.1.2. */
function zstdFrame(content: Uint8Array): Buffer {
  const head = Buffer.alloc(13);
  head.writeUInt32LE(0xfd2fb528, 0);
  // content size of eight bytes, one segment
  head[4] = 0xe0;
  head.writeBigUInt64LE(BigInt(content.length), 5);
  const blocks: Buffer[] = [head];
  for (let at = 0; at < content.length; at += 65_536) {
    const part = content.subarray(at, at + 65_536);
    const isLast = at + 65_536 >= content.length ? 1 : 0;
    blocks.push(
      Buffer.from([0, 8, 16].map((shift) => (((part.length << 3) | isLast) >> shift) & 255)),
      Buffer.from(part),
    );
  }
  return Buffer.concat(blocks);
}

test("built-in definitions lie as the types known by heart do", () => {
  const known = new Set(signalNames.flatMap((signal) => typesFor(signal).map((type) => [signal, type] as const)));
  let compared = 0;
  for (const [signal, type] of known) {
    const definition = builtInDefinition(type.replace("/", "/msg/"));
    if (definition === "") continue;
    expect(knownType(signal, type)!.layouts).toContain(layoutOf(definition));
    compared++;
  }
  expect(compared).toBeGreaterThan(30);
});
