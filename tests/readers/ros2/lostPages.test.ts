import { readFileSync } from "node:fs";
import { join } from "node:path";
import { beforeAll, expect, test } from "vitest";
import { readLog, surveyLog } from "../../../src/readers/readLog.ts";
import { describeWith } from "../../support/available.ts";
import { runPython } from "../../support/run.ts";
import { temporaryFolder } from "../rosbag/temporaryFolder.ts";

const folder = temporaryFolder();
const programs = ["bag.py", "lostPages.py"].map((name) => readFileSync(join(import.meta.dirname, name), "utf8"));

/** Which rows lie on which pages: dbstat of Python's sqlite3, on the files before they were damaged. */
describeWith(["scipy"], "a database of which pages are lost", () => {
  let facts: {
    rows: Readonly<Record<string, readonly number[]>>;
    pages: number;
    inner: number;
    free: number;
    /** a row number that the first page of the messages speaks of */
    reach: number;
    /** what sqlite3 finds wrong with the file, and how many rows it reads of it */
    doubled: readonly [string, number];
  };
  beforeAll(() => {
    facts = runPython(programs.join("\n"), folder);
  });

  /** Reads the rows that are left, compares them, and gives what is reported. */
  const told = async (name: string): Promise<string> => {
    const { signals, recovered } = await readLog([join(folder, name)], [
      { signal: "vehicle_pose", topic: "/mocap/airframe" },
    ] as const);
    // row k + 1 has the pose of x = k / 8
    expect([...signals.get("vehicle_pose")!.columns.x!]).toEqual(facts.rows[name]!.map((row) => (row - 1) / 8));
    return recovered!;
  };

  test("gives the rows of every leaf before the cut, though pages that lead to them lie behind it", async () => {
    expect(facts.inner).toBeGreaterThan(3);
    for (const percent of [20, 50, 80, 99]) {
      const name = `cut-${percent}.db3`;
      const recovered = await told(name);
      expect(recovered).toContain(
        `the file ends after ${Math.floor((facts.pages * percent) / 100)} of ${facts.pages} pages`,
      );
      expect(recovered).toMatch(/table messages: \d+ page\(s\) of its rows cannot be read, with all that they lead to/);
    }
    const { length } = facts.rows["cut-50.db3"]!;
    expect(length).toBeGreaterThan(1500);
    expect(facts.reach).toBeGreaterThan(3000);
    expect(await told("cut-50.db3")).toContain(
      `table messages: ${length} message(s) are left of rows whose numbers reach at least ${facts.reach}`,
    );
  });

  test("gives the rows that a lost page or even the first one led to, and tells how they were found", async () => {
    expect(facts.rows["inner.db3"]).toHaveLength(4000);
    expect(await told("inner.db3")).toMatch(
      /2 page\(s\) of its rows cannot be read.* \(page \d+ is no page of a table\); table messages: \d+ message\(s\) were found by their layout, on \d+ page\(s\) that nothing links to any more$/,
    );
    expect(await told("root.db3")).toContain("table messages: 4000 message(s) were found by their layout");
    // among them those of a topic that is in no table
    expect(await told("orphans-root.db3")).toMatch(/2000 message\(s\) were found.* 1000 message\(s\) belong to no row/);
  });

  test("does not give rows that were deleted, and does not search where it cannot know them", async () => {
    expect(facts.free).toBeGreaterThan(50);
    expect(await told("deleted-root.db3")).toContain("1199 message(s) were found by their layout");
    expect(await told("deleted-unknown.db3")).toContain(
      "pages that nothing links to any more were not searched for messages: the list of unused pages, which may hold deleted rows, cannot be read",
    );
  });

  test("does not search where another table's rows could be taken for messages", async () => {
    expect(await told("twins-inner.db3")).toContain(
      "pages that nothing links to any more were not searched for messages: rows of the table old_messages could look the same",
    );
  });

  test("tells that rows stand out of their order, as half-moved ones do", async () => {
    const { recovered, messages } = await surveyLog(join(folder, "moved.db3"));
    expect(facts.doubled[0]).toMatch(/Rowid \d+ out of order/);
    expect(messages).toBe(facts.doubled[1]);
    expect(recovered).toBe(
      "table messages: its rows step back 1 time(s) in their order: some may be there twice or be lost",
    );
  });

  test("tells that without its topics no message can be known", async () => {
    const { recovered, topics } = await surveyLog(join(folder, "topics.db3"));
    expect(topics).toEqual([]);
    expect(recovered).toMatch(/table topics: 1 page\(s\) of its rows cannot be read/);
    expect(recovered).toContain("were not searched for messages: no topic is known");
  });
});
