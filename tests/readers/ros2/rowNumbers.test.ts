import { readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { surveyLog } from "../../../src/readers/readLog.ts";
import { describeWith } from "../../support/available.ts";
import { runPython } from "../../support/run.ts";
import { temporaryFolder } from "../rosbag/temporaryFolder.ts";

const folder = temporaryFolder();
const programs = ["bag.py", "rowNumbers.py"].map((name) => readFileSync(join(import.meta.dirname, name), "utf8"));

describeWith(["scipy"], "topics whose numbers are those of their rows", () => {
  test("keep their messages, below zero and up to the last whole number of a double", async () => {
    // messages of each topic, joined by Python's sqlite3
    const counts = runPython<Record<string, number>>(programs.join("\n"), folder);
    const { topics, recovered } = await surveyLog(join(folder, "numbers.db3"));
    expect(Object.keys(counts).length).toBeGreaterThan(20);
    expect(Object.fromEntries(topics.map(({ topic, messages }) => [topic, messages]))).toEqual(counts);
    expect(recovered).toBeNull();
  });
});
