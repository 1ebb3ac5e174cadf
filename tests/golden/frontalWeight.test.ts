import { readFileSync } from "node:fs";
import { basename, join } from "node:path";
import { beforeAll, expect, test } from "vitest";
import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { axes } from "../../src/foundation/tracks.ts";
import { diskEffects, type Effects } from "../../src/pipeline/effects.ts";
import { evaluateCampaign } from "../../src/pipeline/evaluateCampaign.ts";
import { evaluationJson } from "../../src/pipeline/writeEvaluation.ts";
import { relativeError } from "../numeric/relativeError.ts";
import { describeWith, openLogs } from "../support/available.ts";
import { runPython } from "../support/run.ts";

const here = import.meta.dirname;

interface Expected {
  readonly poses: number;
  readonly setpoints: number;
  readonly zero_stamps: number;
  readonly changes: readonly number[];
  readonly last_setpoint: number;
  readonly widest_gap: number;
  readonly windows: readonly (Record<"bias" | "sd" | "rms" | "p95" | "range" | "norm" | "slope", readonly number[]> & {
    readonly samples: number;
  })[];
}

/** Two real flights, uncompressed ROS 1 bags of 2022; what is odd about them stands in the SOURCE.md beside them. */
describeWith(["open-logs", "rosbag", "scipy"], "two public flights with a weight in front", () => {
  const manifest = join(here, "frontal-weight.yaml");
  let asDeclared: CampaignEvaluation;
  /** Evaluated with hold windows from 4 s on: their hovers last 4.8 s, which the house rule of 5 s leaves out. */
  let shorterHolds: CampaignEvaluation;
  let expected: readonly Expected[];

  beforeAll(async () => {
    // the manifest lies here, the logs in the folder of open logs
    const folder = join(openLogs(), "ros1", "frontal-weight", "bags");
    const flat = join(openLogs(), "ros1", "frontal-weight");
    const at = async (path: string): Promise<string> => {
      if (!path.endsWith(".bag")) return path;
      const deep = join(folder, basename(path));
      return (await diskEffects.size(deep)) === null ? join(flat, basename(path)) : deep;
    };
    const effects: Effects = {
      ...diskEffects,
      // the folder of tests is no place for looks.jsonl
      writeAtomically: async () => undefined,
      size: async (path) => diskEffects.size(await at(path)),
      sha256: async (path) => diskEffects.sha256(await at(path)),
      readLog: async (paths, requests, options) =>
        diskEffects.readLog(await Promise.all(paths.map(at)), requests, options),
    };
    asDeclared = await evaluateCampaign(manifest, { effects });
    shorterHolds = await evaluateCampaign(manifest, { effects, settings: { ...defaultSettings, hold_length: 4 } });
    const cases = await Promise.all(
      shorterHolds.runs.map(async ({ log, epoch, windows }) => ({
        log: await at(log[0]!),
        epoch,
        windows: windows.hold === null ? [] : [windows.hold],
      })),
    );
    expected = runPython(readFileSync(join(here, "frontal_weight.py"), "utf8"), cases);
  });

  test("are evaluated to an evaluation that keeps its schema", () => {
    expect(() => evaluationJson(asDeclared)).not.toThrow();
    expect(asDeclared.runs.map(({ id }) => id)).toEqual(["bare-1", "weighted-1"]);
  });

  test("every setpoint's stamp is zero: the time of receipt is used, and that is a doubt with its count", () => {
    asDeclared.runs.forEach(({ checks }, i) => {
      const check = checks.find(({ code }) => code === "stamp-log-used")!;
      expect(check.severity).toBe("doubt");
      expect(check.evidence).toEqual({
        topic: "/neptune/mavros/setpoint_position/local",
        zero: expected[i]!.zero_stamps,
        messages: expected[i]!.setpoints,
      });
    });
    expect(asDeclared.settings.signals.vehicle_setpoint).toMatchObject({ stamp: "log", between: "hold" });
    expect(asDeclared.settings.signals.vehicle_pose).toMatchObject({ stamp: "header" });
  });

  test("the gaps of the capture are reported with the widest of them", () => {
    asDeclared.runs.forEach(({ checks }, i) => {
      const gaps = checks.filter(({ code }) => code === "gap");
      expect(gaps).not.toHaveLength(0);
      const longest = Math.max(...gaps.map(({ evidence }) => evidence.longest_s as number));
      // the stretch without a pose, to the nanosecond of the stamps
      expect(Math.abs(longest - expected[i]!.widest_gap)).toBeLessThan(1e-6);
    });
  });

  test("no hover of 5 s, no arm, one clock: nothing is made up for any of them", () => {
    for (const { hold, tracking, windows, synchronous, clocks, checks } of asDeclared.runs) {
      expect([hold, tracking.hold, windows.hold, synchronous]).toEqual([null, null, null, null]);
      expect(clocks).toEqual({});
      expect(checks.some(({ code }) => code === "short-hold")).toBe(true);
    }
    expect(asDeclared.noise).toMatchObject({ source: "in flight", effector: null });
    expect(asDeclared.settings.truth).toEqual({ vehicle: "/neptune/mavros/vision_pose/pose", effector: null });
  });

  test("the hover starts 3 s after the setpoint's only step and ends with the last setpoint", () => {
    shorterHolds.runs.forEach(({ windows }, i) => {
      expect(expected[i]!.changes).toHaveLength(1);
      expect(windows.hold![0]).toBeCloseTo(expected[i]!.changes[0]! + 3, 5);
      // a setpoint that holds means something for one more interval (0.1 s), not longer
      expect(windows.hold![1]).toBeGreaterThanOrEqual(expected[i]!.last_setpoint - 1e-6);
      expect(windows.hold![1]).toBeLessThan(expected[i]!.last_setpoint + 0.11);
    });
  });

  test("bias, sd, rms, percentile, range and slope by axis equal those of rosbag and numpy", () => {
    shorterHolds.runs.forEach(({ tracking, hold }, i) => {
      const known = expected[i]!.windows[0]!;
      const figures = tracking.hold!.vehicle!;
      axes.forEach((axis, a) => {
        for (const key of ["bias", "sd", "rms", "p95", "range"] as const) {
          // the same samples; each instant is a double of seconds, the sums differ by their order
          expect(Math.abs(figures[axis][key]! - known[key][a]!), `${axis} ${key}`).toBeLessThan(1e-9);
        }
        expect(relativeError(hold!.vehicle![axis].slope!, known.slope[a]!)).toBeLessThan(1e-6);
      });
      expect(Math.abs(figures.norm.rms - known.norm[0]!)).toBeLessThan(1e-9);
      expect(Math.abs(figures.norm.max_abs - known.norm[1]!)).toBeLessThan(1e-9);
    });
  });
});
