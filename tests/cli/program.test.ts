import { spawnSync } from "node:child_process";
import { mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join, resolve } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { evaluationSchema } from "../../src/contract/evaluation.ts";

const root = resolve(import.meta.dirname, "../..");
let built: string;
let program: string;
let folder: string;

beforeAll(() => {
  built = mkdtempSync(join(tmpdir(), "counterpoise-built-"));
  program = join(built, "counterpoise.mjs");
  const { status, stderr } = spawnSync(process.execPath, [join(root, "tools/build.mjs"), built], { encoding: "utf8" });
  if (status !== 0) throw new Error(`the build failed:\n${stderr}`);
  folder = mkdtempSync(join(tmpdir(), "counterpoise-"));
});
afterAll(() => {
  for (const made of [built, folder]) rmSync(made, { recursive: true, force: true });
});

const run = (...args: string[]) => {
  const { status, stdout, stderr } = spawnSync(process.execPath, [program, ...args], { encoding: "utf8", cwd: folder });
  return { code: status, stdout, stderr };
};

test("the built program runs by itself and prints its help", () => {
  expect(statSync(program).mode & 0o111).toBe(0o111);
  const { status, stdout } = spawnSync(program, ["--help"], { encoding: "utf8" });
  expect(status).toBe(0);
  expect(stdout).toMatch(/^counterpoise: /);
});

/** The files a module imports before it runs, itself included. */
function startsWith(path: string, seen = new Set<string>()): Set<string> {
  if (seen.has(path)) return seen;
  seen.add(path);
  // imports and re-exports that stand in the text; import(...) waits until it is called
  for (const [, name] of readFileSync(path, "utf8").matchAll(/\b(?:from|import)\s*["'](\.[^"']+)["']/g))
    startsWith(join(dirname(path), name!), seen);
  return seen;
}

test("the start of the program is small: commands are loaded when they are asked for", () => {
  // the entry looks at Node's version and nothing else, then asks for the main part
  expect([...startsWith(program)]).toEqual([program]);
  const [, main] = /import\(["'`]\.\/(parts\/main-[^"'`]+)["'`]\)/.exec(readFileSync(program, "utf8"))!;
  const files = [program, ...startsWith(join(built, main!))];
  expect(files.length).toBeGreaterThan(2);
  const bytes = files.reduce((sum, path) => sum + statSync(path).size, 0);
  // a twentieth of the whole; help and version must answer within 0.3 s on a slow machine
  expect(bytes).toBeLessThan(40_000);
  expect(readdirSync(join(built, "parts")).some((name) => name.startsWith("evaluate"))).toBe(true);
});

test("exit codes leave the process: 2 for a missing manifest, with the message on standard error", () => {
  const { code, stdout, stderr } = run("evaluate", "no-such.yaml");
  expect(code).toBe(2);
  expect(stdout).toBe("");
  expect(stderr).toMatch(/^counterpoise: found no such file, expected a campaign manifest\n {2}place: no-such\.yaml\n/);
  expect(run("evaluate", "no-folder/campaign.yaml").stderr).toContain("expected a campaign manifest");
});

test("a faulty manifest gives code 2, names its line, and nothing is written", () => {
  const path = join(folder, "campaign.yaml");
  writeFileSync(path, "title: Tank wall\nbaselin: bare\n");
  const { code, stdout, stderr } = run("evaluate", "campaign.yaml", "--json");
  expect(code).toBe(2);
  expect(stdout).toBe("");
  expect(stderr).toContain("campaign.yaml:2:1: ");
  expect(readdirSync(folder)).toEqual(["campaign.yaml"]);
});

test("two sample flights and a missing one are evaluated: JSON alone on standard output, the missing run named", () => {
  const sample = join(root, "sample-data");
  const lines = readFileSync(join(sample, "campaign.yaml"), "utf8")
    .replace(/^bench:\n(?: .*\n)+/m, "")
    .split("\n");
  const runs = lines
    .filter((line) => /flight-0[16]\.bag/.test(line))
    .map((line) => line.replace("flight-", `${sample}/flight-`));
  const head = lines
    .filter((line) => !line.includes("log: flight-") && !line.startsWith("static_captures"))
    .join("\n")
    .trimEnd();
  const missing = "  - { log: lost.bag, id: lost, configuration: weighted, trajectory: orbit }";
  writeFileSync(join(folder, "two.yaml"), [head, ...runs, missing, ""].join("\n"));
  const { code, stdout, stderr } = run("evaluate", "two.yaml", "--json", "--strict", "--out", "two.json");
  expect(stderr).toBe("");
  // --strict, and one log is not there
  expect(code).toBe(1);
  const evaluation = evaluationSchema.parse(JSON.parse(stdout));
  expect(evaluation).toEqual(JSON.parse(readFileSync(join(folder, "two.json"), "utf8")));
  expect(evaluation.runs.map(({ id, used }) => [id, used])).toEqual([
    ["flight-01", true],
    ["flight-06", true],
    ["lost", false],
  ]);
  expect(evaluation.runs[2]!.checks.map(({ code: check }) => check)).toContain("log-unreadable");
  const text = run("evaluate", "two.yaml", "--out", "two.json");
  expect(text.code).toBe(0);
  expect(text.stdout).toContain("2 of 3 runs used");
});

test("a reader that closes the pipe early is no fault", () => {
  const log = join(root, "sample-data/flight-01.bag");
  const piped = `"$0" "$1" inspect "$2" --json | head -c 10 && "$0" "$1" inspect "$2" | true`;
  const { stdout, stderr } = spawnSync("sh", ["-c", piped, process.execPath, program, log], { encoding: "utf8" });
  expect(stdout).toBe('{\n "schema');
  expect(stderr).toBe("");
});
