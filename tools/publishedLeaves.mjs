import { spawnSync } from "node:child_process";
import { cpSync, mkdtempSync, readdirSync, readFileSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { basename, join } from "node:path";

/**
 * Changes each value of tests/published/data, one at a time, and names those that no test misses: a published value that is compared
 * by nothing proves nothing. The suites run in a copy of the tree, each with a changed table; those that need more than the npm packages
 * (R, scipy) are left out.
 *
 *   node tools/publishedLeaves.mjs [TABLE ...]     tables by name, without .json; default all
 *
 * Exit code 1 where a value is missed by none.
 */
const root = join(import.meta.dirname, "..");
const copy = mkdtempSync(join(tmpdir(), "counterpoise-leaves-"));
/** What is written for a person. */
const words = new Set(["source", "status", "note", "what", "derivation", "meaning", "form", "rule", "unit", "columns"]);

for (const name of ["src", "tests", "sample-data", "package.json", "tsconfig.json", "vitest.config.ts"])
  cpSync(join(root, name), join(copy, name), { recursive: true });
symlinkSync(join(root, "node_modules"), join(copy, "node_modules"), "dir");
const available = join(copy, "tests/support/available.ts");
writeFileSync(
  available,
  readFileSync(available, "utf8").replace(/(export function missing\([^)]*\)[^{]*\{)/, '$1\n  return "left out here";'),
);

const tests = readdirSync(join(copy, "tests"), { recursive: true, encoding: "utf8" }).filter((name) =>
  name.endsWith(".test.ts"),
);
const tables = readdirSync(join(root, "tests/published/data")).map((name) => basename(name, ".json"));
const asked = process.argv.slice(2);
let missedByNone = 0;
for (const table of asked.length > 0 ? asked : tables) {
  const text = readFileSync(join(root, "tests/published/data", `${table}.json`), "utf8");
  const places = leavesOf(JSON.parse(text));
  const users = tests.filter((name) =>
    readFileSync(join(root, "tests", name), "utf8").includes(`published/data/${table}.json`),
  );
  const failed = failedPlaces(table, text, places, users);
  const kept = places.filter((_, k) => !failed.has(k));
  missedByNone += kept.length;
  console.log(`${table}: ${failed.size} of ${places.length} values are missed by a test`);
  for (const place of kept) console.log(`  missed by none: ${place.join(".")}`);
}
rmSync(copy, { recursive: true });
process.exitCode = missedByNone > 0 ? 1 : 0;

function leavesOf(value, place = []) {
  if (value === null) return [];
  if (typeof value !== "object") return [place];
  return Object.entries(value).flatMap(([key, inner]) => (words.has(key) ? [] : leavesOf(inner, [...place, key])));
}

function withChange(text, place) {
  const table = JSON.parse(text);
  const holder = place.slice(0, -1).reduce((at, key) => at[key], table);
  const key = place.at(-1);
  holder[key] = otherValue(holder[key]);
  return JSON.stringify(table);
}

/** Another value of the same kind; a number by a hundredth, a whole one by 1. */
function otherValue(value) {
  if (typeof value === "boolean") return !value;
  const number = Number(value);
  if (typeof value === "string" && (value.trim() === "" || Number.isNaN(number))) return `${value} changed`;
  const other = Number.isInteger(number) ? number + 1 : number * 1.01;
  return typeof value === "string" ? String(other) : other;
}

/** Each user of the table, once for each changed value. */
function failedPlaces(table, text, places, users) {
  const made = [];
  for (const [k, place] of places.entries()) {
    const data = join(copy, "tests/published/data", `${table}.leaf${k}.json`);
    writeFileSync(data, withChange(text, place));
    made.push(data);
    for (const user of users) {
      const file = join(copy, "tests", user.replace(/\.test\.ts$/, `.leaf${k}.test.ts`));
      const suite = readFileSync(join(root, "tests", user), "utf8");
      writeFileSync(file, suite.replace(`published/data/${table}.json`, `published/data/${table}.leaf${k}.json`));
      made.push(file);
    }
  }
  const report = join(copy, "report.json");
  const run = ["vitest", "run", ".leaf", "--reporter=json", `--outputFile=${report}`, "--maxWorkers=1"];
  const { stderr } = spawnSync("npx", ["--no-install", ...run], { cwd: copy, encoding: "utf8" });
  const failed = new Set();
  const { testResults } = readReport(report, stderr);
  if (testResults.length !== places.length * users.length)
    throw new Error(`ran ${testResults.length} suites:\n${stderr}`);
  for (const { name, status } of testResults)
    if (status === "failed") failed.add(Number(/\.leaf(\d+)\.test/.exec(name)[1]));
  for (const file of [...made, report]) rmSync(file);
  return failed;
}

function readReport(path, stderr) {
  try {
    return JSON.parse(readFileSync(path, "utf8"));
  } catch {
    throw new Error(`the suites left no report:\n${stderr}`);
  }
}
