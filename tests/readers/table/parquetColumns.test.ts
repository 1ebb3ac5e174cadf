import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { parquetWriteBuffer } from "hyparquet-writer";
import { expect, test } from "vitest";
import { LogError } from "../../../src/foundation/errors.ts";
import { readLog, surveyLog } from "../../../src/readers/readLog.ts";
import { temporaryFolder } from "../rosbag/temporaryFolder.ts";

const folder = temporaryFolder();
const columns = { t: "t", x: "x" };

test("two columns of one name are refused: one of them could not be reached", async () => {
  const path = join(folder, "twice.parquet");
  const x = [1, 2, 3, 4];
  writeFileSync(
    path,
    new Uint8Array(
      parquetWriteBuffer({
        columnData: ["t", "x", "x"].map((name) => ({ name, data: x, type: "DOUBLE" as const })),
      }),
    ),
  );
  await expect(readLog([path], [{ signal: "vehicle_pose", topic: "", columns }])).rejects.toThrow(
    "found two columns named x",
  );
});

test("the lowest time stamp, which no calendar reaches, is no value and no crash", async () => {
  const path = join(folder, "nat.parquet");
  const t = [0n, 10_000n, -(2n ** 63n), 30_000n];
  writeFileSync(
    path,
    new Uint8Array(
      parquetWriteBuffer({
        schema: [
          { name: "root", num_children: 2 },
          {
            name: "t",
            type: "INT64",
            repetition_type: "REQUIRED",
            converted_type: "TIMESTAMP_MICROS",
          },
          { name: "x", type: "DOUBLE", repetition_type: "REQUIRED" },
        ],
        columnData: [
          { name: "t", data: t },
          { name: "x", data: [1, 2, 3, 4] },
        ],
      }),
    ),
  );
  const recording = await readLog([path], [{ signal: "vehicle_pose", topic: "", columns }]);
  const { columns: read, received } = recording.signals.get("vehicle_pose")!;
  expect([...read.x!]).toEqual([1, 2, 4]);
  expect(received.seconds[2]).toBeCloseTo(0.03, 12);
  expect(recording.recovered).toContain("1 row(s) have no time");
});

test("a time of day is in the unit that the file states", async () => {
  const path = join(folder, "clock.parquet");
  writeFileSync(
    path,
    new Uint8Array(
      parquetWriteBuffer({
        schema: [
          { name: "root", num_children: 2 },
          { name: "t", type: "INT32", repetition_type: "REQUIRED", converted_type: "TIME_MILLIS" },
          { name: "x", type: "DOUBLE", repetition_type: "REQUIRED" },
        ],
        columnData: [
          { name: "t", data: Int32Array.of(34_200_000, 34_200_010, 34_200_020) },
          { name: "x", data: [1, 2, 3] },
        ],
      }),
    ),
  );
  const recording = await readLog([path], [{ signal: "vehicle_pose", topic: "", columns }]);
  const { received, notes } = recording.signals.get("vehicle_pose")!;
  expect(received.seconds[2]).toBeCloseTo(0.02, 12);
  expect(notes?.join() ?? "").not.toContain("unit of the time");
});

// a byte that is changed for good: 0x7f and 0xfe are the longest runs one byte can claim, 0xff begins a longer one
test("no changed byte makes a reader write out runs that are longer than the table", async () => {
  const path = join(folder, "runs.parquet");
  const rows = Array.from({ length: 40 }, (_, k) => k);
  const bytes = new Uint8Array(
    parquetWriteBuffer({
      columnData: [
        { name: "t", data: rows.map((k) => 0.01 * k), type: "DOUBLE" },
        // one of five blank, and few different values: levels and a dictionary, both as runs
        { name: "x", data: rows.map((k) => (k % 5 === 0 ? null : 0.5 * (k % 3))), type: "DOUBLE", nullable: true },
      ],
    }),
  );
  writeFileSync(path, bytes);
  const requests = [{ signal: "vehicle_pose" as const, topic: "", columns }];
  const whole = (await readLog([path], requests)).signals.get("vehicle_pose")!.columns.x!;
  // rows with no value in any column are left out
  expect([...whole]).toEqual(rows.filter((k) => k % 5 !== 0).map((k) => 0.5 * (k % 3)));
  for (let at = 4; at < bytes.length; at++) {
    for (const end of [[0x7e], [0xfe, 0xff, 0xff, 0xff, 0x07]]) {
      const changed = Uint8Array.from(bytes);
      changed.set(end.slice(0, bytes.length - at), at);
      writeFileSync(path, changed);
      try {
        const read = await readLog([path], requests);
        for (const { columns: found } of read.signals.values()) expect(found.x!.length).toBeLessThanOrEqual(40);
      } catch (error) {
        expect(error, `byte ${at}`).toBeInstanceOf(LogError);
      }
    }
  }
}, 180_000);

test("dates written as text are read to the nanosecond, and proposed as the time", async () => {
  const path = join(folder, "iso.parquet");
  const t = [0, 1, 2, 3, 4].map((k) => `2026-09-14T09:30:0${k}.000000001Z`);
  const x = [1, 2, 3, 4, 5];
  const y = [0.1, 0.2, 0.3, 0.4, 0.5];
  writeFileSync(
    path,
    new Uint8Array(
      parquetWriteBuffer({
        columnData: [
          { name: "time", data: t, type: "STRING" },
          ...["x", "y", "z"].map((name, k) => ({ name, data: k === 0 ? x : y, type: "DOUBLE" as const })),
        ],
      }),
    ),
  );
  const roles = { t: "time", x: "x" };
  const recording = await readLog([path], [{ signal: "vehicle_pose", topic: "", columns: roles }]);
  // GNU date: date -u -d 2026-09-14T09:30:00Z +%s
  expect(recording.start).toBe(1_789_378_200_000_000_001n);
  expect([...recording.signals.get("vehicle_pose")!.received.seconds]).toEqual([0, 1, 2, 3, 4]);
  const survey = await surveyLog(path);
  expect(survey.table!.proposals[0]!.columns).toEqual({ t: "time", x: "x", y: "y", z: "z" });
});

test("a compression that is not read is named, with those that are", async () => {
  const path = join(folder, "lz4.parquet");
  const columnData = [{ name: "t", data: [1, 2, 3], type: "DOUBLE" as const }];
  const compressors = { LZ4_RAW: (bytes: Uint8Array) => bytes };
  writeFileSync(path, new Uint8Array(parquetWriteBuffer({ columnData, codec: "LZ4_RAW", compressors })));
  await expect(readLog([path], [])).rejects.toThrow(/compression LZ4_RAW, expected none, SNAPPY, GZIP, BROTLI or ZSTD/);
});

test("a column that reaches into the index behind the data is refused: its last numbers would be read from there", async () => {
  const numbers = [0.1, 0.2, 0.3, 0.4];
  const bytes = Buffer.from(
    parquetWriteBuffer({
      columnData: ["t", "x"].map((name) => ({ name, data: numbers, type: "DOUBLE" as const })),
      codec: "UNCOMPRESSED",
    }),
  );
  const path = join(folder, "short.parquet");
  // eight bytes of the last number are lost, and nothing else
  const end = bytes.length - 8 - bytes.readUInt32LE(bytes.length - 8);
  writeFileSync(path, Buffer.concat([bytes.subarray(0, end - 8), bytes.subarray(end)]));
  await expect(readLog([path], [{ signal: "vehicle_pose", topic: "", columns }])).rejects.toThrow(
    /the column x is said to lie at bytes \d+ to \d+, the data end at \d+/,
  );
});
