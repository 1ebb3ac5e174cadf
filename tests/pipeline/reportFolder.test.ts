import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import {
  checkReportFolder,
  listOf,
  type ReportFile,
  reportDifferences,
  writeReport,
} from "../../src/pipeline/reportFolder.ts";

let above: string;
let folder: string;
beforeEach(() => {
  above = mkdtempSync(join(tmpdir(), "counterpoise-report-"));
  folder = join(above, "report");
});
afterEach(() => rmSync(above, { recursive: true, force: true }));

function filesOf(page: string, title = "Swabs"): ReportFile[] {
  const files = [
    { path: "index.html", what: "page", text: page },
    { path: "tables/cells.csv", what: "table", text: "a,b\n" },
  ];
  return [...files, listOf(title, files)];
}

test("a report is written whole, over an earlier one of the same campaign, and known again", async () => {
  await checkReportFolder(folder, "Swabs");
  await writeReport(folder, filesOf("one"));
  await checkReportFolder(folder, "Swabs");
  await writeReport(folder, filesOf("two"));
  expect(readFileSync(join(folder, "index.html"), "utf8")).toBe("two");
  expect(readdirSync(above)).toEqual(["report"]);
  expect(await reportDifferences(folder, filesOf("two"))).toEqual([]);
  expect(await reportDifferences(folder, filesOf("three"))).toEqual(["index.html: differs", "report.json: differs"]);
  rmSync(join(folder, "tables/cells.csv"));
  expect(await reportDifferences(folder, filesOf("two"))).toEqual(["tables/cells.csv: is not there"]);
});

test.each([
  ["other files", () => writeFileSync(join(folder, "thesis.tex"), "mine"), /holds other files/],
  ["a list of another program", () => writeFileSync(join(folder, "report.json"), "{}"), /did not write/],
])("a folder with %s is not touched", async (_, put, message) => {
  mkdirSync(folder);
  put();
  await expect(checkReportFolder(folder, "Swabs")).rejects.toThrow(message);
});

test("neither the report of another campaign, nor one that was edited or has a stranger beside it, is written over", async () => {
  await writeReport(folder, filesOf("one"));
  await expect(checkReportFolder(folder, "Tanks")).rejects.toThrow(/another campaign/);
  writeFileSync(join(folder, "notes.txt"), "mine");
  await expect(checkReportFolder(folder, "Swabs")).rejects.toThrow(/notes.txt beside the report/);
  rmSync(join(folder, "notes.txt"));
  writeFileSync(join(folder, "index.html"), "edited");
  await expect(checkReportFolder(folder, "Swabs")).rejects.toThrow(/index.html, which was edited/);
  const file = join(above, "file");
  writeFileSync(file, "");
  await expect(checkReportFolder(file, "Swabs")).rejects.toThrow(/found a file, expected a folder/);
});

test("where the disk refuses, what was there stays, and nothing is left beside it", async () => {
  await writeReport(folder, filesOf("one"));
  const clash = [...filesOf("two"), { path: "index.html/inside", what: "no file can be here", text: "" }];
  await expect(writeReport(folder, clash)).rejects.toThrow(/cannot be written/);
  expect(readFileSync(join(folder, "index.html"), "utf8")).toBe("one");
  expect(readdirSync(above)).toEqual(["report"]);
});

test("what a report that was killed left is swept, and one that was renamed away is put back", async () => {
  // no process has a number as large as this
  mkdirSync(join(above, "report.part-99999999"));
  await writeReport(folder, filesOf("one"));
  expect(readdirSync(above)).toEqual(["report"]);
  mkdirSync(join(above, "report.part-99999999-old"));
  writeFileSync(join(above, "report.part-99999999-old", "index.html"), "older");
  await writeReport(folder, filesOf("two"));
  expect(readdirSync(above)).toEqual(["report"]);
  expect(readFileSync(join(folder, "index.html"), "utf8")).toBe("two");
});
