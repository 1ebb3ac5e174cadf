import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { diff } from "../../src/cli/commands/diff.ts";
import { compareCampaign } from "../../src/comparison/compareCampaign.ts";
import type { BenchEvaluation } from "../../src/contract/benchEvaluation.ts";
import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { checkEvaluation } from "../../src/pipeline/writeEvaluation.ts";
import { inventedCampaign, inventedRuns } from "../support/inventedCampaign.ts";
import { inventedEvaluation } from "../support/inventedEvaluation.ts";
import { capturedTerminal } from "./captured.ts";

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "counterpoise-"));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

/** Four runs of each; the candidate's are lower by `gain` millimetres. */
function evaluated(gain: number, changes: Partial<CampaignEvaluation> = {}, exclude?: string): CampaignEvaluation {
  const runs = inventedRuns(
    [0, 1, 2, 3, 4, 5, 6, 7].map((k) => ({
      configuration: k % 2 === 0 ? "bare" : "weighted",
      value: (20 + 0.1 * k - (k % 2 === 0 ? 0 : gain)) / 1000,
      exclude: `run-${k + 1}` === exclude ? "arm jammed" : null,
    })),
  );
  const cells = compareCampaign(inventedCampaign(runs), runs, defaultSettings);
  return inventedEvaluation({ runs, cells, ...changes });
}

async function said(before: unknown, after: unknown): Promise<string> {
  const terminal = capturedTerminal();
  const paths = [before, after].map((found, k) => {
    const path = join(folder, `${k}.json`);
    writeFileSync(path, typeof found === "string" ? found : JSON.stringify(found));
    return path;
  });
  expect(await diff({ flags: new Set(), values: new Map(), operands: paths }, terminal)).toBe(0);
  return terminal.stdout();
}

describe("what differs between two evaluations", () => {
  test("nothing, where they are the same but for the instant of the look", async () => {
    const later = evaluated(1, { looks: { count: 2, first: "2026-05-04T08:00:00.000Z", recorded: true } });
    expect(await said(evaluated(1), later)).toBe(
      "Nothing differs: files, set-up, runs, findings, bench and cells are the same.\n",
    );
  });

  test("files, settings by their path, runs left out and cells with how far they moved", async () => {
    const before = evaluated(1);
    const inputs = [{ path: "campaign.yaml", sha256: "1".repeat(64), bytes: 1200 }];
    const settings = { ...before.settings, thresholds: { gap_intervals: 3 } };
    const text = await said(before, evaluated(3, { inputs, settings }, "run-8"));
    expect(text).toContain("campaign.yaml: another content");
    expect(text).toContain("thresholds.gap_intervals: 2.5 -> 3");
    expect(text).toContain("run-8: used -> left out (arm jammed)");
    // exact: means of 20.3 and of 20.4 less the gain, then of 20.3 and of 20.3 less 3 (runs 2, 4 and 6 of 20.1, 20.3, 20.5)
    expect(text).toMatch(/orbit, vehicle along x, mm +-0\.90 +-3\.00 +-2\.10/);
    expect(text).toMatch(/\(4 v 4[^)]*\) -> .*\(4 v 3/);
  });

  test("runs that came and went or are filed otherwise, and findings by the runs that have them", async () => {
    const before = evaluated(1);
    const [first, second, ...rest] = before.runs;
    const check = checkEvaluation({
      code: "gap",
      severity: "doubt",
      message: "a gap of 0.2 s",
      evidence: {},
      hint: "look",
    });
    const runs = [{ ...second!, block: "day2", checks: [check] }, ...rest, { ...first!, id: "run-9" }];
    const text = await said(before, { ...before, runs });
    expect(text).toContain("run-1: taken away (bare, orbit)");
    expect(text).toContain("run-9: added (bare, orbit)");
    expect(text).toContain("run-2: filed as weighted, orbit -> weighted, orbit, day2");
    expect(text).toContain("gap (doubt): new on run-2");
    expect(await said({ ...before, runs }, before)).toContain("gap (doubt): no longer on run-2");
  });

  test("a bench that was added, though no flight differs", async () => {
    const bench: BenchEvaluation = {
      checks: [],
      sensor: {
        at: { translation: [0, 0, 0], rotation: [0, 0, 0, 1] },
        sign: "on_sensor",
        filter: "none",
        calibrated: null,
      },
      point: { name: "arm_base", at: [0, 0, 0] },
      resonance: [],
      runs: [],
      cells: [],
      moving: [],
      growth: [],
      closure: [],
      unchecked: [],
      settings: {},
    };
    expect(await said(evaluated(1), evaluated(1, { bench }))).toBe("Bench\n  none -> 0 runs, 0 cells\n");
  });

  test("what a name could do to a terminal is made visible", async () => {
    const text = await said(evaluated(1), evaluated(1, { title: "\u001b[2J" }));
    expect(text).toContain("title");
    expect(text.includes("\u001b[2J")).toBe(false);
  });
});

test.each([
  ["no JSON", "{", /found no JSON text/],
  ["another file", "{}", /found no schema number, expected schema 3/],
  ["an older schema", '{"schema":2}', /found schema 2, expected schema 3/],
  ["an edited one", '{"schema":3,"title":4}', /found another form at /],
])("refused with the file: %s", async (_, text, message) => {
  await expect(said(evaluated(1), text)).rejects.toThrow(
    expect.objectContaining({
      code: "not-an-evaluation",
      message: expect.stringMatching(message),
      place: join(folder, "1.json"),
    }),
  );
});

test("refused: one file alone, and one that is not there", async () => {
  const terminal = capturedTerminal();
  const of = (operands: string[]) => diff({ flags: new Set(), values: new Map(), operands }, terminal);
  await expect(of(["a.json"])).rejects.toThrow(/expected two evaluations/);
  await expect(of([join(folder, "a.json"), join(folder, "b.json")])).rejects.toThrow(/found no such file/);
});
