import { copyFileSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { beforeAll, expect, test } from "vitest";
import { seededRandom } from "../../../src/numeric/seededRandom.ts";
import { readLog } from "../../../src/readers/readLog.ts";
import { describeWith } from "../../support/available.ts";
import { runPython } from "../../support/run.ts";
import { temporaryFolder } from "../rosbag/temporaryFolder.ts";

const folder = temporaryFolder();
const programs = ["bag.py", "writeAheadLogs.py"].map((name) => readFileSync(join(import.meta.dirname, name), "utf8"));
const read = (name: string) =>
  readLog([join(folder, name)], [{ signal: "vehicle_pose", topic: "/mocap/airframe" }] as const);

/** Rows: what Python's sqlite3 reads of the same files. Transactions and frames: counted in writeAheadLogs.py. */
describeWith(["scipy"], "a database with a write-ahead log beside it", () => {
  let rows: Readonly<Record<string, readonly number[]>>;
  beforeAll(() => {
    rows = runPython(programs.join("\n"), folder);
  });

  const told = async (name: string): Promise<string | null> => {
    const { signals, recovered } = await read(name);
    expect([...signals.get("vehicle_pose")!.columns.x!]).toEqual(rows[name]!.map((k) => k / 8));
    return recovered;
  };

  test("is read to its last commit, in silence where the log is whole, empty, or holds old frames", async () => {
    for (const [name, count] of [
      ["whole.db3", 40],
      ["empty.db3", 4],
      ["header-only.db3", 4],
      ["restarted.db3", 44],
      ["cut-between.db3", 32],
    ] as const) {
      expect([name, rows[name]!.length]).toEqual([name, count]);
      expect([name, await told(name)]).toEqual([name, null]);
    }
  });

  test("tells that the log's header is cut short or wrong, with what was found", async () => {
    const lost = "the transactions in it are lost";
    expect(await told("short-header.db3")).toBe(
      `its write-ahead log cannot be read (it has 12 of the 32 bytes of its header): ${lost}`,
    );
    expect(await told("wrong-magic.db3")).toMatch(/it begins with 0x777f068[23], expected 0x377f0682 or 0x377f0683/);
    expect(await told("wrong-header.db3")).toContain(`the checksum of its header is wrong): ${lost}`);
  });

  test("tells how many committed transactions are lost behind a damaged frame", async () => {
    // the fifth of nine is damaged: it and the four behind it
    for (const name of ["wrong-content.db3", "wrong-salt.db3"]) {
      expect(rows[name]).toHaveLength(20);
      expect(await told(name)).toMatch(/damaged or cut short at frame \d+: 5 committed transaction\(s\) from there on/);
    }
    for (const name of ["cut-content.db3", "cut-salt.db3"]) {
      expect(rows[name]).toHaveLength(36);
      expect(await told(name)).toContain("1 committed transaction(s) from there on are lost");
    }
  });

  test("tells how many pages belong to no commit, also where the log ends within one", async () => {
    expect(await told("cut-within.db3")).toBe("the last 1 page(s) of its write-ahead log have no commit: left out");
    expect(await told("cut-number.db3")).toMatch(
      /^the last \d+ page\(s\) of its write-ahead log have no commit: left out$/,
    );
  });

  test("says so too where the tables themselves stood in the log", async () => {
    await expect(read("unmade.db3")).rejects.toThrow(
      /without the table messages \(its tables: none; its write-ahead log cannot be read \(it has 12 of the 32 bytes/,
    );
  });

  test("no single damaged byte, and no cut but one between transactions, takes messages without a word", async () => {
    const log = readFileSync(join(folder, "whole.db3-wal"));
    const random = seededRandom(20);
    copyFileSync(join(folder, "whole.db3"), join(folder, "hurt.db3"));
    const quiet: number[] = [];
    for (let k = 0; k < 400; k++) {
      const place = Math.floor(log.length * random.uniform());
      const hurt = k % 2 === 0 ? Buffer.from(log) : log.subarray(0, place);
      if (k % 2 === 0) hurt[place]! ^= 1 << (k % 8);
      writeFileSync(join(folder, "hurt.db3-wal"), hurt);
      const { signals, recovered } = await read("hurt.db3");
      const { x } = signals.get("vehicle_pose")!.columns;
      // whole transactions of four, from the first on
      expect([...x!]).toEqual(Array.from({ length: 4 * Math.floor(x!.length / 4) }, (_, row) => row / 8));
      if (x!.length < 40 && recovered === null) quiet.push(hurt.length);
    }
    // 32 bytes of header, frames of 24 + 512
    for (const length of quiet) expect(length === 0 || (length - 32) % 536 === 0).toBe(true);
  });
});
