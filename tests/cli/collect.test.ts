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

test("every measure of a run stands once, along its own axes", async () => {
  const out = join(folder, "archive");
  expect((await collect(join(folder, "spring"), "--out", out)).code).toBe(0);
  const [run] = spring.runs;
  const own = (await rowsOf("runs.parquet")).filter((row) => row.run === run!.id);
  const value = (measure: string, subject: string, axis: string, window: string) =>
    own.filter((r) => r.measure === measure && r.subject === subject && r.axis === axis && r.window === window);
  for (const axis of ["x", "y", "z"] as const) {
    expect(value("synchronous", "vehicle", axis, "cycles").map((row) => row.value)).toEqual([
      run!.synchronous!.vehicle![axis].rms,
    ]);
    expect(value("range", "effector", axis, "hold").map((row) => row.value)).toEqual(
      [run!.tracking.hold?.effector?.[axis].range].filter((found) => found != null),
    );
  }
  expect(value("r95", "vehicle", "norm", "hold").map((row) => row.value)).toEqual([run!.hold!.vehicle!.about_mean.r95]);
  const places = own.map((row) => [row.measure, row.subject, row.axis, row.window].join(" "));
  expect(new Set(places).size).toBe(places.length);
  expect(new Set(own.map(({ along }) => along))).toEqual(
    new Set([run!.heading?.taken_out == null ? "world" : "heading"]),
  );
});

test("evaluations of the same logs are named, and a table that another program wrote is left as it is", async () => {
  const inputs = [{ path: spring.runs[0]!.log[0]!, sha256: "a".repeat(64), bytes: 10 }];
  for (const title of ["one", "two"])
    writeFileSync(join(folder, `${title}.json`), JSON.stringify({ ...spring, title, inputs }));
  const out = join(folder, "shared");
  mkdirSync(out);
  const both = [join(folder, "one.json"), join(folder, "two.json"), "--out", out];
  expect(await collect(...both)).toMatchObject({ code: 0, err: expect.stringContaining("judge the same logs") });
  writeFileSync(join(out, "runs.parquet"), "mine");
  expect(await collect(...both)).toMatchObject({ code: 2, err: expect.stringContaining("found runs.parquet") });
  expect(readFileSync(join(out, "runs.parquet"), "utf8")).toBe("mine");
});

test("the manual has every column with its unit", () => {
  const manual = readFileSync(join(import.meta.dirname, "../../client/manual/report.md"), "utf8");
  for (const { name, columns } of archiveTables([]))
    for (const { name: column, what } of columns)
      expect(manual, `${name}.${column}`).toContain(`| \`${column}\` | ${what} |`);
});
