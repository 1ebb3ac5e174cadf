import { describe, expect, test } from "vitest";
import { type BudgetParts, BudgetSums, splitEffectorError } from "../../src/metrics/errorBudget.ts";
import { combineUncertainty, frameParameters, SensitivitySums } from "../../src/metrics/frameSensitivity.ts";
import { rotateVector } from "../../src/numeric/quaternion.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { normalColumn, randomQuaternions } from "../numeric/randomColumns.ts";
import { relativeError, worstDifference, worstRelativeError } from "../numeric/relativeError.ts";

const axes = ["x", "y", "z"] as const;
const columns = (seed: number, n: number, spread: number) => ({
  x: normalColumn(seed, n, 0.4, spread),
  y: normalColumn(seed + 1, n, -0.2, spread),
  z: normalColumn(seed + 2, n, 1.5, spread),
});

function poses(seed: number, n: number, spread: number, attitudes: readonly (readonly number[])[]) {
  const of = (k: number): Float64Array => Float64Array.from(attitudes, (q) => q[k]!);
  return { ...columns(seed, n, spread), qx: of(0), qy: of(1), qz: of(2), qw: of(3) };
}

/** Attitude of roll, pitch and yaw for small angles, exactly of unit norm. */
function tilted(seed: number, n: number, spread: number): number[][] {
  const random = seededRandom(seed);
  return Array.from({ length: n }, () => {
    const [x, y, z] = [0, 0, 0].map(() => 0.5 * spread * random.normal());
    return [x!, y!, z!, Math.sqrt(1 - x! * x! - y! * y! - z! * z!)];
  });
}

describe("the parts", () => {
  test("add up to the effector's error at every instant, whatever the attitudes", () => {
    const n = 500;
    const vehicle = poses(1, n, 0.5, randomQuaternions(10, n));
    const setpoint = poses(4, n, 0.5, randomQuaternions(11, n));
    const tool = columns(20, n, 1);
    const asked = columns(23, n, 1);
    const parts = splitEffectorError(vehicle, setpoint, tool, asked);
    for (const axis of axes) {
      const sum = parts.vehicle[axis].map((value, i) => value + parts.attitude[axis][i]! + parts.arm[axis][i]!);
      // asked for: 1e-12; positions of some metres
      expect(
        worstDifference(
          sum,
          tool[axis].map((value, i) => value - asked[axis][i]!),
        ),
      ).toBeLessThan(1e-14);
      expect(worstDifference(parts.total[axis], sum)).toBeLessThan(1e-14);
    }
  });

  test("a vehicle that only stands beside its setpoint gives a vehicle part alone, by hand", () => {
    const at = (x: number, y: number, z: number) => ({
      x: Float64Array.of(x),
      y: Float64Array.of(y),
      z: Float64Array.of(z),
    });
    const attitude = { qx: Float64Array.of(0), qy: Float64Array.of(0), qz: Float64Array.of(0), qw: Float64Array.of(1) };
    const parts = splitEffectorError(
      { ...at(1.5, 2, 3), ...attitude },
      { ...at(1, 2, 3), ...attitude },
      at(1.75, 2, 2.5),
      at(1.25, 2, 2.5),
    );
    expect([parts.vehicle.x[0], parts.attitude.x[0], parts.arm.x[0]]).toEqual([0.5, 0, 0]);
    expect([parts.lever.x[0], parts.lever.y[0], parts.lever.z[0]]).toEqual([0.25, 0, -0.5]);
  });

  test("a vehicle that only yaws by a right angle swings the lever: (0.25, 0, -0.5) becomes (0, 0.25, -0.5)", () => {
    const at = (x: number, y: number, z: number) => ({
      x: Float64Array.of(x),
      y: Float64Array.of(y),
      z: Float64Array.of(z),
    });
    const turned = (z: number, w: number) => ({
      qx: Float64Array.of(0),
      qy: Float64Array.of(0),
      qz: Float64Array.of(z),
      qw: Float64Array.of(w),
    });
    const parts = splitEffectorError(
      { ...at(0, 0, 0), ...turned(Math.SQRT1_2, Math.SQRT1_2) },
      { ...at(0, 0, 0), ...turned(0, 1) },
      // the arm is where it should be, and 1 cm further out along the vehicle's own x, which is now the world's y
      at(0, 0.26, -0.5),
      at(0.25, 0, -0.5),
    );
    const attitude = axes.map((axis) => parts.attitude[axis][0]!);
    const arm = axes.map((axis) => parts.arm[axis][0]!);
    expect(worstDifference(attitude, [-0.25, 0.25, 0])).toBeLessThan(1e-15);
    expect(worstDifference(arm, [0, 0.01, 0])).toBeLessThan(1e-15);
  });

  test.each([
    ["roll", [Math.SQRT1_2, 0, 0], [0.25, -0.5, -0.1]],
    ["pitch", [0, Math.SQRT1_2, 0], [0.5, 0.1, 0.25]],
    ["yaw", [0, 0, Math.SQRT1_2], [0.1, -0.25, -0.5]],
  ] as const)(
    "a setpoint turned by a right angle of %s, and followed, has the lever (0.25, 0.1, -0.5) seen from there, by hand",
    (_, [qx, qy, qz], lever) => {
      const one = (value: number): Float64Array => Float64Array.of(value);
      const at = (x: number, y: number, z: number) => ({ x: one(x), y: one(y), z: one(z) });
      const pose = { ...at(0, 0, 0), qx: one(qx), qy: one(qy), qz: one(qz), qw: one(Math.SQRT1_2) };
      const parts = splitEffectorError(pose, pose, at(0.25, 0.1, -0.49), at(0.25, 0.1, -0.5));
      const of = (part: "lever" | "attitude" | "arm"): number[] => axes.map((axis) => parts[part][axis][0]!);
      expect(worstDifference(of("lever"), [...lever])).toBeLessThan(1e-15);
      expect(worstDifference(of("attitude"), [0, 0, 0])).toBeLessThan(1e-15);
      expect(worstDifference(of("arm"), [0, 0, 0.01])).toBeLessThan(1e-15);
    },
  );

  test("small turns: the attitude part is attitude error x lever, to second order", () => {
    const n = 50;
    const level = Array.from({ length: n }, () => [0, 0, 0, 1]);
    const turns = tilted(3, n, 1e-4);
    const vehicle = poses(1, n, 0, turns);
    const setpoint = poses(1, n, 0, level);
    const asked = {
      x: vehicle.x.map((v) => v + 0.2),
      y: vehicle.y.map((v) => v + 0.05),
      z: vehicle.z.map((v) => v - 0.3),
    };
    const { attitude } = splitEffectorError(vehicle, setpoint, asked, asked);
    turns.forEach((q, i) => {
      const [rx, ry, rz] = [2 * q[0]!, 2 * q[1]!, 2 * q[2]!];
      const cross = [ry * -0.3 - rz * 0.05, rz * 0.2 - rx * -0.3, rx * 0.05 - ry * 0.2];
      // angle^2 x lever: (3e-4)^2 x 0.4
      expect(
        worstDifference(
          axes.map((axis) => attitude[axis][i]!),
          cross,
        ),
      ).toBeLessThan(4e-8);
    });
  });
});

const budgetOf = (parts: BudgetParts): ReturnType<BudgetSums["figures"]> => {
  const sums = new BudgetSums();
  sums.add(parts, parts.total.x.length);
  return sums.figures();
};

describe("shares", () => {
  const make = (vehicle: number[], attitude: number[], arm: number[]) => {
    const zero = new Float64Array(vehicle.length);
    const on = (values: number[]) => ({ x: Float64Array.from(values), y: zero, z: zero });
    const total = on(vehicle.map((value, i) => value + attitude[i]! + arm[i]!));
    return { vehicle: on(vehicle), attitude: on(attitude), arm: on(arm), total, lever: on(vehicle) };
  };

  test("orthogonal parts share by their squares: 3, 4 and 12 make 13 with 9, 16 and 144 of 169", () => {
    // rows of a Hadamard matrix: no two parts go together
    const parts = make([3, 3, -3, -3], [4, -4, 4, -4], [12, -12, -12, 12]);
    const { x, norm } = budgetOf(parts);
    expect(x.rms).toBeCloseTo(13, 14);
    expect(x.parts).toEqual({ vehicle: 3, attitude: 4, arm: 12 });
    expect(
      worstDifference([x.shares!.vehicle, x.shares!.attitude, x.shares!.arm], [9 / 169, 16 / 169, 144 / 169]),
    ).toBeLessThan(1e-15);
    expect(norm).toEqual(x);
  });

  test("a part that works against another has a negative share, and they still add up to 1", () => {
    // vehicle 2, arm -1 at the same time: total 1, shares 2 and -1
    const { x } = budgetOf(make([2, -2], [0, 0], [-1, 1]));
    expect(x.shares).toEqual({ vehicle: 2, attitude: 0, arm: -1 });
    expect(x.rms).toBe(1);
  });

  test("they add up to 1 for correlated parts with offsets, per axis and for the vector", () => {
    const n = 1000;
    const common = normalColumn(1, n);
    const part = (seed: number, gain: number) => ({
      x: normalColumn(seed, n, 0.5, 1).map((v, i) => v + gain * common[i]!),
      y: normalColumn(seed + 1, n, -2, 1).map((v, i) => v - gain * common[i]!),
      z: normalColumn(seed + 2, n, 0, 1e-3),
    });
    const [vehicle, attitude, arm] = [part(2, 1), part(12, -3), part(22, 0.2)];
    const sum = (axis: "x" | "y" | "z"): Float64Array =>
      vehicle![axis].map((v, i) => v + attitude![axis][i]! + arm![axis][i]!);
    const total = { x: sum("x"), y: sum("y"), z: sum("z") };
    const budget = budgetOf({ vehicle: vehicle!, attitude: attitude!, arm: arm!, total, lever: total });
    for (const { shares } of Object.values(budget)) {
      expect(Math.abs(shares!.vehicle + shares!.attitude + shares!.arm - 1)).toBeLessThan(1e-12);
    }
    expect(relativeError(budget.norm.rms, Math.hypot(budget.x.rms, budget.y.rms, budget.z.rms))).toBeLessThan(1e-12);
  });

  test("no error at all has no shares", () => {
    expect(budgetOf(make([0, 0], [0, 0], [0, 0])).x).toEqual({
      rms: 0,
      parts: { vehicle: 0, attitude: 0, arm: 0 },
      shares: null,
    });
  });
});

describe("if the frames were off", () => {
  const n = 400;
  const armBase = [0.06, 0, -0.12] as const;
  const uncertainty = { length: 0.005, angle: Math.PI / 180 };
  const vehicle = poses(1, n, 0.01, tilted(5, n, 0.05));
  const setpoint = poses(4, n, 0, tilted(6, n, 0.01));
  /** commanded tool point in the arm-base frame, here parallel to the vehicle's */
  const command = columns(40, n, 0.05);
  const wrong = (column: Float64Array): Float64Array => column.map((value, i) => value + 0.002 * Math.sin(i));
  const toolInBody = { x: wrong(command.x), y: wrong(command.y), z: wrong(command.z) };

  /** The effector error computed again with a shifted tool point, a shifted arm base and a turned one: the slow way. */
  function errorWith(tool: readonly number[], base: readonly number[], turn: readonly number[]) {
    const out = { x: new Float64Array(n), y: new Float64Array(n), z: new Float64Array(n) };
    for (let i = 0; i < n; i++) {
      const q = [vehicle.qx[i]!, vehicle.qy[i]!, vehicle.qz[i]!, vehicle.qw[i]!] as const;
      const q0 = [setpoint.qx[i]!, setpoint.qy[i]!, setpoint.qz[i]!, setpoint.qw[i]!] as const;
      const l = axes.map((axis) => command[axis][i]!);
      const turned = [
        l[0]! + turn[1]! * l[2]! - turn[2]! * l[1]!,
        l[1]! + turn[2]! * l[0]! - turn[0]! * l[2]!,
        l[2]! + turn[0]! * l[1]! - turn[1]! * l[0]!,
      ];
      const lever = [0, 1, 2].map((k) => armBase[k]! + base[k]! + turned[k]!) as [number, number, number];
      const held = axes.map((axis, k) => toolInBody[axis][i]! + armBase[k]! + tool[k]!) as [number, number, number];
      const is = rotateVector(q, held);
      const should = rotateVector(q0, lever);
      axes.forEach((axis, k) => {
        out[axis][i] = vehicle[axis][i]! + is[k]! - setpoint[axis][i]! - should[k]!;
      });
    }
    return out;
  }
  const rms = (values: Float64Array): number => Math.sqrt(values.reduce((sum, v) => sum + v * v, 0) / n);
  const sd = (values: Float64Array): number => {
    const mean = values.reduce((sum, v) => sum + v, 0) / n;
    return Math.sqrt(values.reduce((sum, v) => sum + (v - mean) ** 2, 0) / (n - 1));
  };
  const error = errorWith([0, 0, 0], [0, 0, 0], [0, 0, 0]);
  const lever = {
    x: command.x.map((v) => v + armBase[0]),
    y: command.y.map((v) => v + armBase[1]),
    z: command.z.map((v) => v + armBase[2]),
  };
  const sums = new SensitivitySums({ armBase, uncertainty });
  sums.add(error, vehicle, setpoint, lever, n);
  const found = sums.figures();
  const shifted = (parameters: readonly number[]) =>
    errorWith(parameters.slice(0, 3), parameters.slice(3, 6), parameters.slice(6, 9));

  test("the gradients of rms and sd are those of the error computed again", () => {
    const step = 1e-6;
    for (let k = 0; k < 9; k++) {
      const unit = Array.from({ length: 9 }, (_, j) => (j === k ? step : 0));
      const up = shifted(unit);
      const down = shifted(unit.map((value) => -value));
      for (const axis of axes) {
        // central differences of a smooth function: step^2, and rounding / step
        expect(Math.abs((rms(up[axis]) - rms(down[axis])) / (2 * step) - found[axis].rms[k]!)).toBeLessThan(1e-8);
        expect(Math.abs((sd(up[axis]) - sd(down[axis])) / (2 * step) - found[axis].sd[k]!)).toBeLessThan(1e-8);
      }
    }
    expect(frameParameters(armBase)).toHaveLength(9);
    expect(frameParameters(null)).toEqual(["tool_point.x", "tool_point.y", "tool_point.z"]);
  });

  test("nowhere within the uncertainty does the rms leave its limits, and it reaches them", () => {
    const random = seededRandom(77);
    const limits = [...Array<number>(6).fill(0.005), ...Array<number>(3).fill(Math.PI / 180)];
    const least = { x: 9, y: 9, z: 9 };
    const greatest = { x: 0, y: 0, z: 0 };
    const look = (parameters: readonly number[]): void => {
      const at = shifted(parameters);
      for (const axis of axes) {
        least[axis] = Math.min(least[axis], rms(at[axis]));
        greatest[axis] = Math.max(greatest[axis], rms(at[axis]));
      }
    };
    for (let trial = 0; trial < 300; trial++) look(limits.map((limit) => limit * (2 * random.uniform() - 1)));
    for (let corner = 0; corner < 512; corner++) look(limits.map((limit, k) => ((corner >> k) & 1 ? limit : -limit)));
    for (const axis of axes) {
      const [low, high] = found[axis].rms_within;
      expect(low).toBeLessThanOrEqual(least[axis] + 1e-12);
      expect(relativeError(high, greatest[axis])).toBeLessThan(1e-9);
      // first order stands for small shifts: within the limits it is no more than the whole
      expect(rms(error[axis]) + found[axis].worst).toBeLessThanOrEqual(high + 1e-9);
      expect(found[axis].quadrature).toBeLessThanOrEqual(found[axis].worst);
    }
  });

  test("a level vehicle with a standing error of 3 mm: 5 mm of tool point takes it to 0 or 8, by hand", () => {
    const still = { x: new Float64Array(10).fill(0.003), y: new Float64Array(10), z: new Float64Array(10) };
    const level = {
      qx: new Float64Array(10),
      qy: new Float64Array(10),
      qz: new Float64Array(10),
      qw: new Float64Array(10).fill(1),
    };
    const shifted = new SensitivitySums({ armBase: null, uncertainty });
    shifted.add(still, level, level, still, 10);
    const { x, y } = shifted.figures();
    expect(worstRelativeError(x.rms_within, [0, 0.008])).toBeLessThan(1e-9);
    expect(worstDifference(x.rms, [1, 0, 0])).toBeLessThan(1e-15);
    expect(worstRelativeError([x.worst, x.quadrature], [0.005, 0.005])).toBeLessThan(1e-15);
    // an error without bias moves to second order only, which the limits show and the gradient does not
    expect(y.worst).toBe(0);
    expect(worstRelativeError(y.rms_within, [0, 0.005])).toBeLessThan(1e-12);
  });

  test("quadrature is the GUM's: the six components of example H.1 make 32 nm, and 61 at their worst", () => {
    // JCGM 100:2008, H.1, table H.1: 25, 5.8, 3.9, 6.7, 2.9 and 16.6 nm; u_c printed as 32 nm. Their plain sum: 60.9
    const { worst, quadrature } = combineUncertainty([1, 1, 1, 1, -1, 1], [25, 5.8, 3.9, 6.7, 2.9, 16.6]);
    expect(Math.round(quadrature)).toBe(32);
    expect(worst).toBeCloseTo(60.9, 12);
  });
});
