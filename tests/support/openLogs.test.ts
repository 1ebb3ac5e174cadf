import { spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join, resolve } from "node:path";
import { expect, test } from "vitest";
import data from "../data.json" with { type: "json" };
import { describeWith, openLogs } from "./available.ts";

const root = resolve(import.meta.dirname, "../..");
const held = (folder: string) =>
  spawnSync(process.execPath, [join(root, "tools/testData.mjs"), folder], { encoding: "utf8" });

test("each suite that reads open logs is named with what it reads, and no other", () => {
  const tests = readdirSync(join(root, "tests"), { recursive: true, encoding: "utf8" })
    .filter((name) => name.endsWith(".test.ts") && !name.startsWith("support"))
    .filter((name) => readFileSync(join(root, "tests", name), "utf8").includes("openLogs()"))
    .map((name) => `tests/${name.replaceAll("\\", "/")}`);
  const named = new Set(Object.values(data).flatMap(({ suites }) => suites));
  expect([...named].sort()).toEqual(tests.sort());
});

test("a folder without the logs is refused, and what is missing is said with where it comes from", () => {
  const folder = mkdtempSync(join(tmpdir(), "counterpoise-data-"));
  try {
    const [name, { source, commit, files }] = Object.entries(data)[0]!;
    const [first, second] = Object.keys(files) as [string, string];
    const path = join(folder, name, first);
    mkdirSync(dirname(path), { recursive: true });
    writeFileSync(path, "another file");
    const { status, stderr, stdout } = held(folder);
    expect(status).toBe(1);
    expect(stdout).toBe("");
    expect(stderr).toContain(`${name}: from ${source}, commit ${commit}`);
    expect(stderr).toContain(`another file: ${name}/${first}: found `);
    expect(stderr).toContain(`missing: ${name}/${second}`);
  } finally {
    rmSync(folder, { recursive: true });
  }
});

describeWith(["open-logs"], "the folder of open logs", () => {
  test("holds what tests/data.json names, byte for byte", () => {
    const { status, stdout, stderr } = held(openLogs());
    expect(stderr).toBe("");
    expect(status).toBe(0);
    expect(stdout).toMatch(/^all \d+ files are there/);
  });
});
