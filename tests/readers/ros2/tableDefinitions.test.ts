import { copyFileSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { beforeAll, expect, test } from "vitest";
import { readLog } from "../../../src/readers/readLog.ts";
import { PageFile } from "../../../src/readers/ros2/sqlite/PageFile.ts";
import { readRows, tablesOf } from "../../../src/readers/ros2/sqlite/tables.ts";
import { describeWith } from "../../support/available.ts";
import { runPython } from "../../support/run.ts";
import { temporaryFolder } from "../rosbag/temporaryFolder.ts";

interface Facts {
  readonly tables: readonly {
    readonly name: string;
    readonly statement: string;
    readonly columns: readonly string[];
    readonly rowNumber: string | null;
    readonly affinities: Readonly<Record<string, string>>;
    readonly withoutRowid: boolean;
  }[];
  readonly added: readonly {
    readonly name: string;
    readonly definition: string;
    readonly values: readonly (string | number | null)[];
  }[];
  readonly rows: Readonly<Record<string, readonly number[]>>;
  readonly encoding: number;
}

const folder = temporaryFolder();
const at = (name: string): string => join(folder, name);
const programs = ["bag.py", "tableDefinitions.py"].map((name) => readFileSync(join(import.meta.dirname, name), "utf8"));
const read = (name: string) => readLog([at(name)], [{ signal: "vehicle_pose", topic: "/mocap/airframe" }] as const);

/** Expected: what Python's sqlite3 says of the same tables (table_xinfo, typeof, the values it reads). */
describeWith(["scipy"], "the statement that made a table", () => {
  let facts: Facts;
  beforeAll(() => {
    facts = runPython(programs.join("\n"), folder);
  });

  test("tells the columns that are stored, which one is the row's number, and what becomes of values", () => {
    expect(facts.tables.length).toBeGreaterThan(15);
    for (const { name, statement, columns, rowNumber, affinities, withoutRowid } of facts.tables) {
      const file = new PageFile(at(name));
      const table = tablesOf(file).tables.get("t")!;
      file.close();
      expect([statement, ...table.columns.keys()]).toEqual([statement, ...columns]);
      expect(Array.from(table.columns.values(), ({ place }) => place)).toEqual(columns.map((_, k) => k));
      expect([statement, table.rowNumber, table.withoutRowid]).toEqual([statement, rowNumber, withoutRowid]);
      for (const [column, affinity] of Object.entries(affinities))
        expect([statement, column, table.columns.get(column)!.affinity]).toEqual([statement, column, affinity]);
    }
  });

  test("tells what a row holds that is older than one of its columns: the column's DEFAULT", () => {
    for (const { name, definition, values } of facts.added) {
      const file = new PageFile(at(name));
      const { rows, notes } = readRows(file, tablesOf(file).tables.get("t")!, ["b"]);
      file.close();
      expect([definition, ...rows.map(({ b }) => b)]).toEqual([definition, ...values]);
      expect(notes).toEqual([]);
    }
  });

  test("a bag is read whatever the spelling of its tables, and with the encoding of a first page in the log", async () => {
    // the database file itself does not say how it is encoded
    expect(facts.encoding).toBe(0);
    for (const name of ["spelled.db3", "utf16-log.db3"]) {
      const { signals, recovered } = await read(name);
      expect(facts.rows[name]).toHaveLength(40);
      expect([...signals.get("vehicle_pose")!.columns.x!]).toEqual(facts.rows[name]!.map((k) => k / 8));
      expect(recovered).toBeNull();
    }
  });

  test("tables that are no bag's are refused by what they lack", async () => {
    await expect(read("keyed.db3")).rejects.toThrow("found the table MESSAGES made WITHOUT ROWID, expected one whose");
    await expect(read("numberless.db3")).rejects.toThrow(
      "found the table topics without id (its columns: name, serialization_format, type), expected a ROS 2 bag",
    );
    await expect(read("timed.db3")).rejects.toThrow(
      "found the table messages whose timestamp stands for the number of the row, expected a column of its own",
    );
    copyFileSync(at("table-2.db3"), at("other.db3"));
    await expect(read("other.db3")).rejects.toThrow("without the table messages (its tables: t), expected a ROS 2 bag");
  });
});
