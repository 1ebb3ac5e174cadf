import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { parquetWriteBuffer } from "hyparquet-writer";
import { expect, test } from "vitest";
import { readLog } from "../../../src/readers/readLog.ts";
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
