import { readdirSync, readFileSync } from "node:fs";
import { basename, dirname, join } from "node:path";
import { expect, test } from "vitest";
import { evaluateCampaign } from "../../src/pipeline/evaluateCampaign.ts";
import { effectsAt } from "../golden/effectsAt.ts";
import { describeWith, openLogs } from "../support/available.ts";

/** Root mean square of the error along z of one table, from 2 to 15.1 s after its path begins with a step to y = -0.33 m. */
function rmsInPath(file: string): number {
  const [head, ...lines] = readFileSync(file, "utf8").trim().split("\n");
  const names = head!.split(",");
  const column = (name: string): number[] => {
    const at = names.indexOf(name);
    return lines.map((line) => Number(line.split(",")[at]));
  };
  const [t, z, askedZ, askedY] = ["t", "pz", "sp_ctrltarget_z", "sp_ctrltarget_y"].map(column);
  const begin = t![askedY!.findIndex((y) => y < -0.3)]!;
  const squares = t!.flatMap((at, i) => (at >= begin + 2 && at < begin + 15.1 ? [(z![i]! - askedZ![i]!) ** 2] : []));
  return Math.sqrt(squares.reduce((sum, square) => sum + square, 0) / squares.length);
}

describeWith(["open-logs"], "public flights of one path that begin on the ground, under two controllers", () => {
  test("are compared over the path alone: the candidate, whose logs begin nearer to the setpoint, is less steady along z", async () => {
    const folder = join(openLogs(), "csv", "two-controllers");
    const manifest = join(import.meta.dirname, "../golden/two-controllers.yaml");
    const { cells, runs, settings } = await evaluateCampaign(manifest, {
      effects: effectsAt((path) => join(folder, basename(dirname(path)), basename(path))),
    });
    const means = ["a", "b"].map((controller) => {
      const files = readdirSync(join(folder, controller)).map((file) => rmsInPath(join(folder, controller, file)));
      return files.reduce((sum, rms) => sum + rms, 0) / files.length;
    });
    const z = cells.find(({ axis, in_family }) => in_family && axis === "z")!;
    // 42 mm, by the whole logs -71 mm; the ends of the two windows differ by some hundredths of a second
    expect(means[1]! - means[0]!).toBeGreaterThan(0.04);
    expect(Math.abs(z.difference! - (means[1]! - means[0]!))).toBeLessThan(1e-3);
    // not "steadier", as the whole logs would have it; and doubted, since the difference is one of constant offset
    expect(z.verdict).toBe("doubted");
    expect(z.doubts).toContain("constant-offset");
    // every run over the same 13.0 s
    for (const { windows } of runs) {
      const [[from, to]] = windows.cycles as [[number, number]];
      expect(Math.abs(to - from - 13.04)).toBeLessThan(0.1);
    }
    expect(settings.signals.cycles!.stretch).toContain("the stretch of command that 10 runs flew");
  });
});
