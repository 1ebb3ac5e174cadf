import { copyFileSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { runCli } from "../../src/cli/runCli.ts";
import type { BenchEvaluation } from "../../src/contract/benchEvaluation.ts";
import { evaluationSchema } from "../../src/contract/evaluation.ts";
import { wrenchUnit } from "../../src/pipeline/bench/readBenchFile.ts";
import { benchOfManifest } from "../../src/pipeline/bench/writeBench.ts";
import { capturedTerminal } from "../cli/captured.ts";
import { poundTable, siTable, writeBench } from "../support/benchFiles.ts";
import { type BenchSetUp, cleanBench, stand } from "../support/simulatedBench.ts";

const folder = mkdtempSync(join(tmpdir(), "counterpoise-bench-"));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const setUp: BenchSetUp = {
  ...cleanBench,
  refits: 3,
  creep: false,
  base: { ...stand, cycles: 8, sensor: { ...stand.sensor, rate: 100 } },
};
const codesOf = ({ checks, runs }: BenchEvaluation): string[] => [
  ...new Set([...checks, ...runs.flatMap((run) => run.checks)].map(({ code }) => code)),
];
let clean: string;
beforeAll(() => {
  clean = writeBench(join(folder, "clean"), setUp, siTable);
});

describe("a bench in files", () => {
  test("gives what moves, without a blame", async () => {
    const { bench, flights } = await benchOfManifest(clean);
    expect(flights).toBe(false);
    expect(codesOf(bench)).toEqual([]);
    const bare = bench.moving.find(({ configuration, from }) => configuration === "bare" && from === "force")!;
    // truth 680 g; masses scatter by 1 % from refit to refit
    expect(Math.abs(bare.value - 0.68)).toBeLessThan(0.02);
    expect(bench.runs.every(({ used }) => used)).toBe(true);
  });

  test("in pounds and newton millimetres, by the headings, gives the same to 1e-9", async () => {
    const [a, b] = [
      await benchOfManifest(clean),
      await benchOfManifest(writeBench(join(folder, "pounds"), setUp, poundTable)),
    ];
    expect(codesOf(b.bench)).toEqual([]);
    for (const [i, run] of a.bench.runs.entries())
      for (const name of ["fx", "my", "fz"] as const)
        for (const [k, one] of run.channels![name].harmonics.entries()) {
          const other = b.bench.runs[i]!.channels![name].harmonics[k]!;
          expect(Math.abs(other.cos - one.cos)).toBeLessThan(1e-9);
          expect(Math.abs(other.sin - one.sin)).toBeLessThan(1e-9);
        }
  });

  test("two clocks are joined by force and motion", async () => {
    const late = writeBench(join(folder, "late"), { ...setUp, refits: 1, tap: false, knownMass: [] }, siTable, (text) =>
      text
        .replace("status: status } }", "status: status }, clock: bench }")
        .replace('z: "az [mm]" } }', 'z: "az [mm]" }, clock: arm }\n')
        .replace("  tare:", "  same_motion: [wrench, arm]\n  tare:")
        .replace(/ {2}known_mass:\n {2}tap:\n/, ""),
    );
    const { bench } = await benchOfManifest(late);
    const joined = bench.runs.map(({ checks }) => checks.find(({ code }) => code === "clocks-joined"));
    // both columns stand in one file: the offset to be found is 0
    for (const check of joined) expect(Math.abs(check!.evidence.offset_s as number)).toBeLessThan(0.01);
    const bare = bench.moving.find(({ configuration, from }) => configuration === "bare" && from === "force")!;
    expect(Math.abs(bare.value - 0.68)).toBeLessThan(0.03);
  });
});

describe("what a person does wrong", () => {
  const changed = (name: string, change: (text: string) => string): string => {
    const path = join(folder, "clean", `${name}.yaml`);
    writeFileSync(path, change(readFileSync(clean, "utf8")));
    return path;
  };

  test("raw counts without a scale", async () => {
    const path = changed("counts", (text) =>
      text
        .replace("cross_talk: 2 %", "cross_talk: 2 %")
        .replace("status: status } }", "status: status }, units: { force: counts, moment: counts } }"),
    );
    const { bench } = await benchOfManifest(path);
    expect(bench.runs.every(({ used }) => !used)).toBe(true);
    expect(bench.runs[0]!.checks[0]!.message).toMatch(/raw counts, and nothing says how many make a unit/);
  });

  test("the same file twice", async () => {
    const rows = readFileSync(join(folder, "clean", "bench.csv"), "utf8").split("\n");
    copyFileSync(join(folder, "clean", "run-0.csv"), join(folder, "clean", "copy.csv"));
    writeFileSync(
      join(folder, "clean", "twice.csv"),
      [...rows.slice(0, -1), rows[1]!.replace("run-0.csv", "copy.csv"), ""].join("\n"),
    );
    const { bench } = await benchOfManifest(
      changed("twice", (text) => text.replace("runs: bench.csv", "runs: twice.csv")),
    );
    expect(bench.runs.at(-1)!.used).toBe(false);
    expect(bench.runs.at(-1)!.excluded_because).toMatch(/filed as run-0 already/);
  });

  test("a file that is not there, and a column that it does not have", async () => {
    const gone = changed("gone", (text) => text.replace('fx: "fx [N]"', 'fx: "Fx [N]x"'));
    const { bench } = await benchOfManifest(gone);
    expect(bench.runs[0]!.checks[0]!.code).toBe("log-unreadable");
    expect(bench.runs[0]!.checks[0]!.message).toMatch(/found no column "Fx \[N\]x" for fx/);
    expect(bench.runs[0]!.checks[0]!.message).toMatch(/wrench:/);
  });

  test.each<[string, (text: string) => string, RegExp]>([
    [
      "two clocks and nothing to join them",
      (text) => text.replace('z: "az [mm]" } }', 'z: "az [mm]" }, clock: arm }'),
      /same_motion: \[wrench, arm\]/,
    ],
    ["no sensor place", (text) => text.replace(/ {4}at: .*\n/, ""), /bench\.sensor\.at/],
    [
      "a force as full scale of moments",
      (text) => text.replace("[4 N m, 4 N m, 4 N m]", "[4 N, 4 N m, 4 N m]"),
      /expected a moment such as 4 N m/,
    ],
    [
      "an unknown configuration in the table",
      (text) => text.replace("  bare: {", "  plain: {").replace("baseline: bare", "baseline: plain"),
      /bench\.csv:2:\d+: .*found "bare"/,
    ],
    [
      "a speed that is a mass",
      (text) =>
        text.replace(
          "runs: bench.csv",
          "runs: [{ log: run-0.csv, configuration: bare, trajectory: reach, speed: 3 kg }]",
        ),
      /expected a speed such as 0.25 m\/s, a period/,
    ],
    [
      "a trajectory of the bench alone that the flights have too",
      (text) =>
        text.replace(
          "  runs: bench.csv",
          "  trajectories: { reach: { shape: line, axis: x, stroke: 150 mm, period: 1.9 s, cycles: 10 } }\n  runs: bench.csv",
        ),
      /found reach here and under the manifest's own trajectories/,
    ],
    ["a misspelled key", (text) => text.replace("cross_talk", "crosstalk"), /did you mean cross_talk/],
    [
      "neither topic nor columns",
      (text) => text.replace(/ {4}arm: .*\n/, "    arm: { clock: bench }\n"),
      /neither topic nor columns/,
    ],
  ])("%s", async (name, change, words) => {
    const path = changed(name.replace(/\W/g, "-"), change);
    await expect(benchOfManifest(path)).rejects.toThrow(words);
  });
});

describe("the command", () => {
  test("prints the answer and writes an evaluation that keeps its schema", async () => {
    const terminal = capturedTerminal();
    expect(await runCli(["bench", clean], terminal)).toBe(0);
    expect(terminal.stdout()).toMatch(/On the stand, with Counterweights fitted: of the force along x 8\d %/);
    expect(terminal.stdout()).toMatch(/Moves along x, reach, bare: 6\d\d g/);
    const found = evaluationSchema.parse(JSON.parse(readFileSync(join(folder, "clean", "evaluation.json"), "utf8")));
    expect(found.runs).toEqual([]);
    expect(found.bench!.cells.length).toBeGreaterThan(0);
    // again: what stands there is kept
    const stale = { ...found.bench_to_flight!, sealed: { at: "2020-01-01T00:00:00.000Z", sha256: "0".repeat(64) } };
    const kept = { ...found, title: "kept", bench_to_flight: stale };
    writeFileSync(join(folder, "clean", "evaluation.json"), JSON.stringify(kept));
    expect(await runCli(["bench", clean], terminal)).toBe(0);
    const again = evaluationSchema.parse(JSON.parse(readFileSync(join(folder, "clean", "evaluation.json"), "utf8")));
    expect(again.title).toBe("kept");
    // held against this bench: what another one said does not stay
    expect(again.bench_to_flight).toEqual(found.bench_to_flight);
  });

  test("a manifest without a bench says so and writes nothing", async () => {
    const path = join(folder, "none.yaml");
    writeFileSync(path, readFileSync(clean, "utf8").replace(/^bench:[\s\S]*/m, "signals: {}\n"));
    const terminal = capturedTerminal();
    expect(await runCli(["bench", path], terminal)).toBe(2);
    expect(terminal.stderr()).not.toBe("");
    expect(existsSync(join(folder, "evaluation.json"))).toBe(false);
  });
});

test("units as sensors' headings write them", () => {
  // exact by definition: 1 lbf = 4.4482216152605 N, 1 inch = 25.4 mm
  const cases: readonly [string, "force" | "moment", number | "counts" | null][] = [
    ["N", "force", 1],
    ["(lbf)", "force", 4.4482216152605],
    ["lb", "force", 4.4482216152605],
    ["kgf", "force", 9.80665],
    ["N-mm", "moment", 0.001],
    ["Nmm", "moment", 0.001],
    ["[N·m]", "moment", 1],
    ["Nm", "moment", 1],
    ["lbf-in", "moment", 4.4482216152605 * 0.0254],
    ["in-lb", "moment", 4.4482216152605 * 0.0254],
    ["counts", "force", "counts"],
    ["N", "moment", null],
    ["m", "force", null],
  ];
  for (const [unit, kind, factor] of cases) {
    const found = wrenchUnit(unit, kind);
    if (typeof factor === "number") expect(found as number, unit).toBeCloseTo(factor, 12);
    else expect(found, unit).toBe(factor);
  }
});
