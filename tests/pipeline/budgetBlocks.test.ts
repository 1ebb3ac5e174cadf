import { expect, test } from "vitest";
import type { AlignedRun } from "../../src/alignment/alignRun.ts";
import { samplePoses } from "../../src/alignment/sampleTrack.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { axes, type PoseTrack } from "../../src/foundation/tracks.ts";
import { BudgetSums, splitEffectorError } from "../../src/metrics/errorBudget.ts";
import { SensitivitySums } from "../../src/metrics/frameSensitivity.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { type BudgetFacts, measureBudget } from "../../src/pipeline/extras/measureBudget.ts";
import { evenTimes, poses, turn } from "../alignment/signals.ts";
import { relativeError } from "../numeric/relativeError.ts";

/** Poses that wander about a place and turn about an axis of their own. */
function wandering(t: Float64Array, seed: number, place: readonly [number, number, number]): PoseTrack {
  const random = seededRandom(seed);
  const wave = [1, 2, 3].map(() => [0.2 + random.uniform(), 6 * random.uniform()] as const);
  return poses(t, (time) => {
    const of = (k: number): number => Math.sin(wave[k]![0] * time + wave[k]![1]);
    return {
      p: [place[0] + 0.05 * of(0), place[1] + 0.04 * of(1), place[2] + 0.03 * of(2)],
      q: turn([0.6, 0, 0.8], 0.1 * of(1) + 0.02 * random.normal()),
    };
  });
}

const without = (track: PoseTrack, from: number, to: number): PoseTrack => {
  const pick = (column: Float64Array): Float64Array => column.filter((_, i) => track.t[i]! < from || track.t[i]! > to);
  return {
    t: pick(track.t),
    x: pick(track.x),
    y: pick(track.y),
    z: pick(track.z),
    qx: pick(track.qx),
    qy: pick(track.qy),
    qz: pick(track.qz),
    qw: pick(track.qw),
  };
};

test("the budget of a long flight, taken in blocks, is that of all its samples at once", () => {
  // 240 Hz: the blocks of 4096 samples end at 17.07 and 34.13 s; the vehicle is lost about both ends, the setpoint masked once
  const n = 10_000;
  const t = evenTimes(240, n / 240, 0.0007);
  const vehicle = without(without(wandering(evenTimes(240, n / 240 + 1), 3, [0, 0, 1.5]), 16.9, 17.2), 34.1, 34.15);
  const setpoint = wandering(evenTimes(50, n / 240 + 1), 4, [0.01, 0, 1.5]);
  for (let i = 1200; i < 1230; i++) setpoint.x[i] = Number.NaN;
  const tool = wandering(t, 5, [0.3, 0, 1.2]);
  const error = wandering(t, 6, [0.004, -0.002, 0.001]);
  const asked = {
    x: tool.x.map((v, i) => v - error.x[i]!),
    y: tool.y.map((v, i) => v - error.y[i]!),
    z: tool.z.map((v, i) => v - error.z[i]!),
  };
  const run = {
    subjects: { effector: { t, measured: tool, error, command: tool } },
    cycles: [[0, n / 240 + 1]],
    hold: null,
    vehicle,
    setpoint,
    intervals: { vehicle: 1 / 240, effector: 1 / 240 },
  } as unknown as AlignedRun;
  const armBase = [0.06, 0, -0.12] as const;
  const facts = {
    frames: { armBase: { translation: armBase }, uncertainty: { length: 0.002, angle: 0.01 } },
    signals: { effector_command: { frame: "arm_base" } },
  } as unknown as BudgetFacts;
  const found = measureBudget(run, facts, defaultSettings)!;

  // all at once: samples whose two neighbours in the vehicle's track are no further apart than 1.5 intervals
  const [v, s] = [samplePoses(vehicle, t), samplePoses(setpoint, t)];
  const rows = Array.from(t, (_, i) => i).filter((i) => {
    const next = vehicle.t.findIndex((at) => at > t[i]!);
    const near = next > 0 && vehicle.t[next]! - vehicle.t[next - 1]! <= 1.5 / 240 + 1e-9;
    return near && Number.isFinite(v.x[i]! + s.x[i]!);
  });
  expect(rows.length).toBeGreaterThan(9000);
  expect(rows.length).toBeLessThan(9900);
  const kept = <T extends object>(columns: T): T =>
    Object.fromEntries(
      Object.entries(columns).map(([name, column]) => [
        name,
        Float64Array.from(rows, (i) => (column as Float64Array)[i]!),
      ]),
    ) as T;
  const parts = splitEffectorError(kept(v), kept(s), kept({ x: tool.x, y: tool.y, z: tool.z }), kept(asked));
  const budget = new BudgetSums();
  budget.add(parts, rows.length);
  const whole = budget.figures();
  const sums = new SensitivitySums({
    armBase: [...armBase],
    uncertainty: { length: 0.002, angle: 0.01 },
  });
  sums.add(parts.total, kept(v), kept(s), parts.lever, rows.length);
  const sensitivity = sums.figures();
  expect(found.samples).toBe(rows.length);
  for (const axis of [...axes, "norm"] as const) {
    // sums of ten thousand, in another order
    expect(relativeError(found[axis].rms, whole[axis].rms)).toBeLessThan(1e-12);
    for (const part of ["vehicle", "attitude", "arm"] as const) {
      expect(relativeError(found[axis].parts[part], whole[axis].parts[part])).toBeLessThan(1e-12);
      expect(Math.abs(found[axis].shares![part] - whole[axis].shares![part])).toBeLessThan(1e-11);
    }
  }
  for (const axis of axes) {
    expect(relativeError(found.sensitivity[axis].worst, sensitivity[axis].worst)).toBeLessThan(1e-9);
    sensitivity[axis].products.forEach((product, k) => {
      // written with ten digits
      expect(Math.abs(found.sensitivity[axis].products[k]! - product)).toBeLessThan(
        1e-9 * Math.max(1e-6, Math.abs(product)),
      );
    });
  }
});
