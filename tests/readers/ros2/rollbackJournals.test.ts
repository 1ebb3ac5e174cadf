import { copyFileSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { beforeAll, expect, test } from "vitest";
import { LogError } from "../../../src/foundation/errors.ts";
import { seededRandom } from "../../../src/numeric/seededRandom.ts";
import { readLog } from "../../../src/readers/readLog.ts";
import { describeWith } from "../../support/available.ts";
import { runPython } from "../../support/run.ts";
import { temporaryFolder } from "../rosbag/temporaryFolder.ts";

const folder = temporaryFolder();
const programs = ["bag.py", "rollbackJournals.py"].map((name) => readFileSync(join(import.meta.dirname, name), "utf8"));
const read = (name: string) =>
  readLog([join(folder, name)], [{ signal: "vehicle_pose", topic: "/mocap/airframe" }] as const);

/** Rows: what Python's sqlite3 reads of the same files, which rolls the journal back first. */
describeWith(["scipy"], "a database with a rollback journal beside it", () => {
  let facts: { rows: Readonly<Record<string, readonly number[]>>; counts: readonly number[] };
  beforeAll(() => {
    facts = runPython(programs.join("\n"), folder);
  });
  const rowsOf = async (name: string): Promise<string | null> => {
    const { signals, recovered } = await read(name);
    expect(facts.rows[name]).toHaveLength(100);
    expect([...signals.get("vehicle_pose")!.columns.x!]).toEqual(facts.rows[name]!.map((k) => k / 8));
    return recovered;
  };

  test("is read as it was before the transaction that was not finished, which is reported", async () => {
    // more than one header, so that a count ends before the journal does
    expect(facts.counts.length).toBeGreaterThan(2);
    const pages = facts.counts.reduce((sum, count) => sum + count, 0);
    expect(await rowsOf("counted.db3")).toBe(
      `the recorder did not finish its last transaction, which was undone: ${pages} page(s) come from the rollback journal beside it`,
    );
    expect(await rowsOf("uncounted.db3")).toContain("did not finish its last transaction, which was undone");
    // without its journal, half of the transaction is in the file
    copyFileSync(join(folder, "counted.db3"), join(folder, "half.db3"));
    const half = (await read("half.db3")).signals.get("vehicle_pose")?.columns.x ?? [];
    expect([...half]).not.toEqual(facts.rows["counted.db3"]!.map((k) => k / 8));
  });

  test("is sound where the journal's transaction is finished: emptied, or its header overwritten by zeros", async () => {
    expect(readFileSync(join(folder, "finished-persist.db3-journal")).length).toBeGreaterThan(1000);
    expect(readFileSync(join(folder, "finished-truncate.db3-journal"))).toHaveLength(0);
    expect(await rowsOf("finished-persist.db3")).toBeNull();
    expect(await rowsOf("finished-truncate.db3")).toBeNull();
  });

  test("tells what of a damaged journal could not be undone", async () => {
    // one of the first header's pages is sound in one file, three in the other
    for (const [name, sound] of [["damaged.db3", 1] as const, ["cut.db3", 3] as const])
      expect((await read(name)).recovered).toContain(
        `${sound} page(s) come from the rollback journal beside it, but at least ${facts.counts[0]! - sound} more of it cannot be read: half-written rows may be left`,
      );
    for (const name of ["no-journal.db3", "short.db3"])
      expect((await read(name)).recovered).toContain(
        "the rollback journal beside it cannot be read (it does not begin as one): rows of a transaction that was not finished may be left",
      );
  });

  test("tells that a file beside it is another's, or cannot be opened", async () => {
    expect((await read("foreign.db3")).recovered).toContain(
      "a rollback journal lies beside it that does not belong to it",
    );
    expect((await read("folder.db3")).recovered).toMatch(/folder\.db3-wal: .*: what it holds is left out/);
  });

  test("a damaged or cut journal gives rows or a refusal and is reported, never a fault", async () => {
    const journal = readFileSync(join(folder, "counted.db3-journal"));
    const random = seededRandom(21);
    copyFileSync(join(folder, "counted.db3"), join(folder, "hurt.db3"));
    for (let k = 0; k < 200; k++) {
      const hurt = Buffer.from(
        journal.subarray(0, k % 4 === 0 ? 1 + Math.floor(journal.length * random.uniform()) : undefined),
      );
      // the header, which everything hangs on, more often than its share
      const reach = k % 2 === 0 ? 32 : hurt.length;
      for (let n = 0; n < k % 4; n++)
        hurt[1 + Math.floor((reach - 1) * random.uniform())] = Math.floor(256 * random.uniform());
      writeFileSync(join(folder, "hurt.db3-journal"), hurt);
      try {
        expect((await read("hurt.db3")).recovered).toMatch(/journal/);
      } catch (error) {
        if (!(error instanceof LogError)) throw error;
        expect(error.message).toMatch(/journal/);
      }
    }
  });
});
