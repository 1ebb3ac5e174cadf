import { readFileSync } from "node:fs";
import { basename, join } from "node:path";
import { beforeAll, expect, test } from "vitest";
import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import { evaluateCampaign } from "../../src/pipeline/evaluateCampaign.ts";
import { describeWith, openLogs } from "../support/available.ts";
import { runPython } from "../support/run.ts";
import { effectsAt } from "./effectsAt.ts";

const here = import.meta.dirname;

/** Capture and onboard log of one flight, on clocks 54 years apart. */
describeWith(["open-logs", "scipy"], "one public flight in two text logs", () => {
  let run: CampaignEvaluation["runs"][number];
  let expected: { offset: number; rms: number[]; samples: number; rows: number };

  beforeAll(async () => {
    const folder = join(openLogs(), "csv", "two-files");
    const at = (path: string): string => join(folder, basename(path));
    const evaluation = await evaluateCampaign(join(here, "two-files.yaml"), { effects: effectsAt(at) });
    run = evaluation.runs[0]!;
    const { offset } = run.clocks.mocap!;
    expected = runPython(readFileSync(join(here, "two_files.py"), "utf8"), [
      at("mocap.log"),
      at("onboard.log"),
      offset,
      run.clocks.mocap!.skew,
      run.windows.cycles[0]![0],
      run.windows.cycles.at(-1)![1],
    ]);
  });

  test("the clocks are joined by the motion that both logs saw, to the delay of the onboard estimate", () => {
    const { offset, offset_se, source } = run.clocks.mocap!;
    expect(source).toMatch(/^attitude against attitude; includes any delay of the estimator/);
    expect(offset_se!).toBeLessThan(0.01);
    // both programs also log seconds since one common instant; the estimate comes up to a few capture intervals later
    expect(offset - expected.offset).toBeGreaterThan(-0.02);
    expect(offset - expected.offset).toBeLessThan(0.05);
  });

  test("rms per axis is numpy's on those clocks, turned from north, east, down", () => {
    const { x, y, z } = run.tracking.cycles!.vehicle!;
    // x is east, y north; screening leaves out a handful of poses
    expect(Math.abs(x.rms - expected.rms[1]!)).toBeLessThan(3e-3);
    expect(Math.abs(y.rms - expected.rms[0]!)).toBeLessThan(3e-3);
    expect(Math.abs(z.rms - expected.rms[2]!)).toBeLessThan(3e-3);
  });

  test("copies of a pose that the log took before the next one came are no measurements, and not frozen", () => {
    const check = run.checks.find(({ code }) => code === "frozen")!;
    expect(check.severity).toBe("note");
    expect(check.evidence.times).toBe(4);
    expect(check.evidence.copies).toBeGreaterThan(0.6 * expected.rows);
    expect(run.valid_fraction).toMatchObject({ vehicle: expect.closeTo(1, 1) });
  });
});
