import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { parquetReadObjects } from "hyparquet";
import { afterAll, beforeAll, expect, test } from "vitest";
import { runCli } from "../../src/cli/runCli.ts";
import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import { archiveTables } from "../../src/report/paper/archiveTables.ts";
import { inventedEvaluation, inventedFamily } from "../support/inventedEvaluation.ts";
import { capturedTerminal } from "./captured.ts";

let folder: string;
const spring = inventedEvaluation({ title: "Spring", cells: inventedFamily(["orbit"]) });
const autumn = inventedEvaluation({ title: "Autumn; ümlaut", cells: inventedFamily(["orbit"]) });
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "counterpoise-collect-"));
  mkdirSync(join(folder, "spring"));
  writeFileSync(join(folder, "spring/evaluation.json"), JSON.stringify(spring));
  writeFileSync(join(folder, "autumn.json"), JSON.stringify(autumn));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const collect = async (...args: string[]) => {
  const terminal = capturedTerminal();
  const code = await runCli(["collect", ...args], terminal);
  return { code, out: terminal.stdout(), err: terminal.stderr() };
};
const rowsOf = async (name: string): Promise<Record<string, unknown>[]> => {
  const bytes = readFileSync(join(folder, "archive", name));
  return parquetReadObjects({ file: bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength) });
};

test("gathers files and folders, each evaluation once, and every number comes back as it was", async () => {
  const archive = join(folder, "archive");
  const given = [join(folder, "spring"), join(folder, "autumn.json"), join(folder, "spring/evaluation.json")];
  const { code, out } = await collect(...given, "--out", archive);
  expect(code).toBe(0);
  expect(out).toContain("of 2 evaluations; 1 given twice");
  expect(readdirSync(archive).sort()).toEqual(["cells.parquet", "moments.parquet", "runs.parquet"]);
  const cells = await rowsOf("cells.parquet");
  const known: readonly [CampaignEvaluation, string][] = [
    [spring, "Spring"],
    [autumn, "Autumn; ümlaut"],
  ];
  for (const [evaluation, title] of known) {
    const own = cells.filter(({ campaign }) => campaign === title);
    expect(own.map(({ trajectory, subject, axis, difference }) => [trajectory, subject, axis, difference])).toEqual(
      evaluation.cells.map(({ trajectory, subject, axis, difference }) => [trajectory, subject, axis, difference]),
    );
    expect(own.map((row) => [row.ci95_low, row.ci95_high, row.baseline_runs, row.verdict])).toEqual(
      evaluation.cells.map(({ ci95, baseline, verdict }) => [ci95![0], ci95![1], baseline.n, verdict]),
    );
  }
  const runs = await rowsOf("runs.parquet");
  const rms = runs.filter(
    (row) =>
      row.campaign === "Spring" &&
      row.measure === "rms" &&
      row.window === "cycles" &&
      row.subject === "vehicle" &&
      row.axis === "x",
  );
  expect(rms.map(({ run, value, unit, role }) => [run, value, unit, role])).toEqual(
    spring.runs.map(({ id, tracking, configuration }) => [
      id,
      tracking.cycles!.vehicle!.x.rms,
      "m",
      configuration === "bare" ? "baseline" : "candidate",
    ]),
  );
  // an archive is replaced
  expect((await collect(join(folder, "autumn.json"), "--out", archive)).code).toBe(0);
  expect(new Set((await rowsOf("cells.parquet")).map(({ campaign }) => campaign))).toEqual(new Set(["Autumn; ümlaut"]));
});

test("what is no evaluation, a missing --out and a folder with other files are refused, and nothing is written", async () => {
  const out = join(folder, "refused");
  writeFileSync(join(folder, "notes.json"), "{}");
  const faulty = await collect(join(folder, "autumn.json"), join(folder, "notes.json"), "--out", out);
  expect([faulty.code, faulty.err]).toEqual([2, expect.stringContaining("notes.json")]);
  expect((await collect(join(folder, "autumn.json"))).err).toContain("found no --out");
  const full = await collect(join(folder, "autumn.json"), "--out", folder);
  expect([full.code, full.err]).toEqual([2, expect.stringContaining("expected a new or an empty folder")]);
  expect(readdirSync(folder).sort()).toEqual(["archive", "autumn.json", "notes.json", "spring"]);
});

test("the manual has every column with its unit", () => {
  const manual = readFileSync(join(import.meta.dirname, "../../client/manual/report.md"), "utf8");
  for (const { name, columns } of archiveTables([]))
    for (const { name: column, what } of columns)
      expect(manual, `${name}.${column}`).toContain(`| \`${column}\` | ${what} |`);
});
