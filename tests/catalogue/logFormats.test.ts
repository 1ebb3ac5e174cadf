import { readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { logFormats, logKind } from "../../src/catalogue/logFormats.ts";

test("the manual's table of logs is the catalogue's", () => {
  const manual = readFileSync(join(import.meta.dirname, "../../client/manual/logs.md"), "utf8");
  const [, table] = /\| log \| what is read \| a signal says \|\n\|[-|]+\|\n((?:\|.*\n)+)/.exec(manual)!;
  const names = table!
    .trim()
    .split("\n")
    .map((row) => row.split("|")[1]!.trim());
  expect(names.sort()).toEqual(
    Object.values(logFormats)
      .map(({ name }) => name as string)
      .sort(),
  );
});

test("a format is known by the name that evaluations bear", () => {
  expect([logKind("Parquet"), logKind("table"), logKind("ULog"), logKind("C3D"), logKind("MCAP")]).toEqual([
    "table",
    "table",
    "autopilot",
    "points",
    "messages",
  ]);
  expect([logKind("parquet"), logKind(null)]).toEqual([null, null]);
});
