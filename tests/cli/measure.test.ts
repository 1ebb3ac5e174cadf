import { spawn, spawnSync } from "node:child_process";
import { once } from "node:events";
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setTimeout as pause } from "node:timers/promises";
import { afterAll, beforeAll, expect, test } from "vitest";
import { build } from "../browser/startProgram.ts";
import { describeWith } from "../support/available.ts";
import { flightsOnDisk } from "../support/flightsOnDisk.ts";

/** A campaign measured by several processes of the built program. */

const program = join(build, "counterpoise.mjs");
const root = mkdtempSync(join(tmpdir(), "counterpoise-measure-"));
afterAll(() => rmSync(root, { recursive: true, force: true }));
const flights = join(root, "flights");

beforeAll(async () => {
  mkdirSync(flights);
  flightsOnDisk(flights, 5);
  // a log that was written a moment ago is not kept
  await pause(2100);
});

const run = (...args: string[]) => spawnSync(process.execPath, [program, ...args], { encoding: "utf8", cwd: flights });
const records = (folder: string): string[] =>
  readdirSync(join(root, folder))
    .filter((name) => name.startsWith("run-"))
    .sort();
/** The evaluation without the instant of the first look. */
const judged = (...args: string[]): string => {
  const { stdout, status } = run("evaluate", ".", "--out", "-", ...args);
  expect(status).toBe(0);
  return stdout.replace(/"\d{4}-\d\d-\d\dT[\d:.]+Z"/g, '"then"');
};

test("parts that run side by side, one of them twice, are found by the evaluation, and its figures are the fresh ones", async () => {
  const cache = ["--cache", join(root, "shared")];
  const parts = ["1/3", "2/3", "3/3", "3/3"].map((part) =>
    spawn(process.execPath, [program, "measure", ".", "--part", part, ...cache], { cwd: flights, stdio: "ignore" }),
  );
  const codes = await Promise.all(parts.map(async (part) => (await once(part, "exit"))[0]));
  expect(codes).toEqual([0, 0, 0, 0]);
  const made = records("shared");
  expect(made).toHaveLength(5);
  const again = run("measure", ".", ...cache);
  expect(again.stdout).toContain("Part 1 of 1: 5 runs, measured 0;");
  const found = judged(...cache);
  expect(records("shared")).toEqual(made);
  expect(found).toBe(judged("--no-cache"));
  // the kept answer, as JSON and as a person reads it
  expect(judged(...cache)).toBe(found);
  const read = (...how: string[]): string => run("evaluate", ".", "--full", ...how).stdout;
  expect(read(...cache)).toBe(read("--no-cache"));
});

test("a part that was lost is measured by the evaluation", () => {
  const cache = ["--cache", join(root, "lost")];
  const { stdout } = run("measure", ".", "--part", "2/3", ...cache);
  expect(stdout).toContain("Part 2 of 3: 2 runs, measured 2;");
  expect(stdout).toContain("Not measured yet by other parts: 3 runs.");
  expect(records("lost")).toHaveLength(2);
  expect(judged(...cache)).toBe(judged("--no-cache"));
  expect(records("lost")).toHaveLength(5);
});

describeWith(["make"], "a makefile", () => {
  test("the makefile of the manual measures in parts and then evaluates", () => {
    const manual = readFileSync(join(import.meta.dirname, "../../client/manual/commands.md"), "utf8");
    const [, makefile] = /```make\n([\s\S]*?)```/.exec(manual) ?? [];
    writeFileSync(join(flights, "parts.mk"), makefile!.replaceAll("counterpoise ", `${process.execPath} ${program} `));
    const { status, stdout, stderr } = spawnSync("make", ["-j2", "-f", "parts.mk"], { cwd: flights, encoding: "utf8" });
    expect(status, stderr).toBe(0);
    expect(stdout).toContain("Part 4 of 4: 1 run, measured 1;");
    expect(records("flights/.counterpoise/kept")).toHaveLength(5);
  });
});

test.each(["0/3", "4/3", "3", "a/b", "1/0"])("a part that is none is refused: %s", (part) => {
  const { status, stderr } = run("measure", ".", "--part", part);
  expect(status).toBe(2);
  expect(stderr).toContain(`found --part ${part}, expected a part such as 3/16`);
});
