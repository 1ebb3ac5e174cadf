import { readFileSync } from "node:fs";
import { basename, dirname, join } from "node:path";
import { beforeAll, expect, test } from "vitest";
import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import { axes } from "../../src/foundation/tracks.ts";
import { diskEffects } from "../../src/pipeline/effects.ts";
import { evaluateCampaign } from "../../src/pipeline/evaluateCampaign.ts";
import { inspectFolder } from "../../src/pipeline/inspectFolder.ts";
import { evaluationJson } from "../../src/pipeline/writeEvaluation.ts";
import { describeWith, openLogs } from "../support/available.ts";
import { runPython } from "../support/run.ts";
import { effectsAt } from "./effectsAt.ts";

const here = import.meta.dirname;

interface Expected {
  readonly runs: readonly {
    readonly rows: number;
    readonly samples: number;
    readonly rms: number[];
    readonly delay: number;
  }[];
  readonly p: readonly number[];
  readonly t: readonly number[];
}

/** A real comparison with repeats: tables of 52 columns with capture and command; see the SOURCE.md beside them. */
describeWith(["open-logs", "scipy"], "eleven public flights under two controllers", () => {
  let evaluation: CampaignEvaluation;
  let expected: Expected;

  beforeAll(async () => {
    const folder = join(openLogs(), "csv", "two-controllers");
    const at = (path: string): string => join(folder, basename(dirname(path)), basename(path));
    evaluation = await evaluateCampaign(join(here, "two-controllers.yaml"), { effects: effectsAt(at) });
    expected = runPython(readFileSync(join(here, "two_controllers.py"), "utf8"), {
      logs: evaluation.runs.map(({ log, windows }) => [at(log[0]!), windows.cycles[0]![0], windows.cycles.at(-1)![1]]),
      split: 6,
    });
  });

  test("are evaluated to an evaluation that keeps its schema, all of them used", () => {
    expect(() => evaluationJson(evaluation)).not.toThrow();
    expect(evaluation.runs.map(({ used }) => used)).toEqual(Array(11).fill(true));
    expect(evaluation.settings.truth.vehicle).toBe("columns px, py, pz and 4 more");
  });

  test("rms per run and axis is numpy's", () => {
    evaluation.runs.forEach(({ tracking }, run) => {
      for (const [k, axis] of axes.entries()) {
        const { rms } = tracking.cycles!.vehicle![axis]!;
        // the same samples by the same formula: rounding
        expect(Math.abs(rms / expected.runs[run]!.rms[k]! - 1)).toBeLessThan(1e-9);
      }
    });
  });

  test("the response delay is found between 0.4 and 0.65 s, as by shifting samples, and left in the verdict", () => {
    evaluation.runs.forEach(({ tracking }, run) => {
      const { delay, x, y, z } = tracking.cycles!.vehicle!;
      expect(delay).toBeGreaterThan(0.4);
      expect(delay).toBeLessThan(0.65);
      // numpy's in steps of 2 ms over the scored stretch, and the program's search on fewer samples
      expect(Math.abs(delay! - expected.runs[run]!.delay)).toBeLessThan(0.004);
      for (const { rms, rms_delay_removed } of [x, y, z]) expect(rms_delay_removed).not.toBe(rms);
    });
    for (const { axis, baseline, candidate } of evaluation.cells.filter(({ in_family }) => in_family))
      for (const { runs, values } of [baseline, candidate])
        runs.forEach((id, k) => {
          const run = evaluation.runs.find((one) => one.id === id)!;
          expect(values[k]).toBe(run.tracking.cycles!.vehicle![axis as "x"]!.rms);
        });
  });

  test("the verdicts rest on Welch's test, as scipy computes it from numpy's values", () => {
    const cells = evaluation.cells.filter(({ in_family }) => in_family);
    expect(cells).toHaveLength(3);
    cells.forEach(({ method, p, difference, se }, k) => {
      expect(method).toBe("welch");
      expect(Math.abs(p! / expected.p[k]! - 1)).toBeLessThan(1e-6);
      expect(Math.abs(difference! / se! / expected.t[k]! - 1)).toBeLessThan(1e-6);
    });
    // what rms calls less steady is doubted: one run never came within 0.1 m before its path began, and without it x and y are
    // open; along z the candidate flies some 140 mm lower throughout and yet steadier about its own mean
    expect(cells.map(({ verdict }) => verdict)).toEqual(["doubted", "doubted", "doubted"]);
    expect(cells.map(({ doubts }) => doubts.includes("constant-offset"))).toEqual([false, false, true]);
    const { difference, constant } = cells[2]!;
    expect(difference!).toBeGreaterThan(0.03);
    expect(constant!.sd!.difference).toBeLessThan(-0.02);
  });

  test("begun from the draft, with its questions answered, it gives numpy's difference along z, and claims nothing else", async () => {
    const folder = join(openLogs(), "csv", "two-controllers");
    const { manifest } = await inspectFolder(folder);
    const answered = manifest.replace("<BASELINE>", "a").replace("<CANDIDATE>", "b").replace("<LENGTH>", "10 mm");
    expect(answered.replace(/ {5}# .*$/gm, "")).not.toMatch(/<[A-Z_]+>/);
    // one recorder wrote all columns by one clock
    expect(manifest).not.toContain("clock");
    const path = join(folder, "campaign.yaml");
    const drafted = await evaluateCampaign(path, {
      effects: {
        ...diskEffects,
        readText: async (wanted) => (wanted === path ? answered : diskEffects.readText(wanted)),
        size: async (wanted) => (wanted === path ? answered.length : diskEffects.size(wanted)),
        sha256: async (wanted) => (wanted === path ? "0".repeat(64) : diskEffects.sha256(wanted)),
        writeAtomically: async () => undefined,
      },
      look: false,
    });
    expect(drafted.runs.map(({ used }) => used)).toEqual(Array(11).fill(true));
    const meanOf = (runs: Expected["runs"]): number => runs.reduce((sum, { rms }) => sum + rms[2]!, 0) / runs.length;
    const truth = meanOf(expected.runs.slice(6)) - meanOf(expected.runs.slice(0, 6));
    // the candidate's rms along z is larger by 42 mm
    expect(truth).toBeCloseTo(0.042, 3);
    const cell = drafted.cells.find(({ in_family, axis }) => in_family && axis === "z")!;
    // the same samples, scored from some tenths of a second later or earlier
    expect(Math.abs(cell.difference! - truth)).toBeLessThan(0.001);
    expect(cell.doubts).not.toContain("clock-ambiguous");
    expect(cell.ci95![0]).toBeGreaterThan(0);
    // against the truth nothing may be claimed; x and y are claimed, and z is doubted for its offset alone
    const family = drafted.cells.filter(({ in_family }) => in_family);
    for (const { verdict } of family) expect(["less steady", "doubted"]).toContain(verdict);
    expect(family.map(({ doubts }) => doubts.includes("constant-offset"))).toEqual([false, false, true]);
  });
});
