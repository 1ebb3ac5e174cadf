import { describe, expect, test } from "vitest";
import { type BudgetRun, configurationBudgets } from "../../src/comparison/configurationBudgets.ts";
import type { BudgetEvaluation } from "../../src/contract/runExtras.ts";
import { type AxisColumns, BudgetSums } from "../../src/metrics/errorBudget.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";

const random = seededRandom(61);
type Part = "vehicle" | "attitude" | "arm";
type Columns = Record<Part, AxisColumns>;

function invented(n: number): Columns {
  const columns = (size: number): AxisColumns => {
    const column = (): Float64Array => Float64Array.from({ length: n }, () => size * random.normal());
    return { x: column(), y: column(), z: column() };
  };
  // the arm works against the vehicle: its share along x is negative
  const vehicle = columns(0.004);
  const arm = columns(0.001);
  return { vehicle, attitude: columns(0.003), arm: { ...arm, x: vehicle.x.map((value) => -0.6 * value) } };
}

function runOf(id: string, columns: Columns, changes: Partial<BudgetRun> = {}): BudgetRun {
  const total = (axis: "x" | "y" | "z"): Float64Array =>
    columns.vehicle[axis].map((value, i) => value + columns.attitude[axis][i]! + columns.arm[axis][i]!);
  const whole = { x: total("x"), y: total("y"), z: total("z") };
  const sums = new BudgetSums();
  sums.add({ ...columns, total: whole, lever: whole }, whole.x.length);
  const figures = sums.figures();
  // the sensitivity plays no part
  const budget = { window: "cycles", samples: whole.x.length, ...figures } as unknown as BudgetEvaluation;
  return { id, trajectory: "orbit", configuration: "bare", used: true, budget, ...changes };
}

describe("error budget per configuration", () => {
  test("runs of equal length: as if their samples stood in one long run", () => {
    const [first, second, third] = [invented(200), invented(200), invented(200)];
    const [budget] = configurationBudgets([runOf("1", first), runOf("2", second), runOf("3", third)]);
    const joined = (part: Part, axis: "x" | "y" | "z"): Float64Array =>
      Float64Array.from([first, second, third].flatMap((columns) => [...columns[part][axis]]));
    const columns = (part: Part): AxisColumns => ({ x: joined(part, "x"), y: joined(part, "y"), z: joined(part, "z") });
    const whole = runOf("all", { vehicle: columns("vehicle"), attitude: columns("attitude"), arm: columns("arm") });
    expect(budget!.runs).toEqual(["1", "2", "3"]);
    for (const place of ["x", "y", "z", "norm"] as const) {
      const wanted = whole.budget![place];
      expect(budget![place].rms).toBeCloseTo(wanted.rms, 14);
      for (const part of ["vehicle", "attitude", "arm"] as const) {
        expect(budget![place].parts[part]).toBeCloseTo(wanted.parts[part], 14);
        expect(budget![place].shares![part]).toBeCloseTo(wanted.shares![part], 12);
      }
      const { vehicle, attitude, arm } = budget![place].shares!;
      expect(Math.abs(vehicle + attitude + arm - 1)).toBeLessThan(1e-12);
    }
    expect(budget!.x.shares!.arm).toBeLessThan(0);
  });

  test("by exact arithmetic: each run counts alike, however long, and its share by its mean square", () => {
    const of = (id: string, rms: number, share: number, samples: number): BudgetRun => {
      const figures = {
        rms,
        parts: { vehicle: rms, attitude: 0, arm: 2 * rms },
        shares: { vehicle: share, attitude: 0, arm: 1 - share },
      };
      const budget = { window: "cycles", samples, x: figures, y: figures, z: figures, norm: figures };
      return { ...runOf(id, invented(3)), budget: budget as unknown as BudgetEvaluation };
    };
    // mean squares 1 and 9: rms sqrt 5; vehicle (0.5 x 1 + 0.1 x 9)/10 = 0.14
    const [budget] = configurationBudgets([of("short", 1, 0.5, 10), of("long", 3, 0.1, 100_000)]);
    expect(budget!.x.rms).toBeCloseTo(Math.sqrt(5), 14);
    expect(budget!.x.parts.arm).toBeCloseTo(2 * Math.sqrt(5), 14);
    expect(budget!.x.shares!.vehicle).toBeCloseTo(0.14, 14);
    expect(budget!.x.shares!.arm).toBeCloseTo(0.86, 14);
  });

  test("trajectories, configurations and windows apart; unused runs and runs without a budget left out", () => {
    const columns = invented(20);
    const hold = runOf("6", columns);
    const runs = [
      runOf("1", columns, { configuration: "weighted" }),
      runOf("2", columns),
      runOf("3", columns, { used: false }),
      runOf("4", columns, { budget: null }),
      runOf("5", columns, { configuration: "sham" }),
      { ...hold, budget: { ...hold.budget!, window: "hold" as const } },
      runOf("7", columns, { trajectory: "reach" }),
      runOf("8", columns),
    ];
    expect(
      configurationBudgets(runs).map(({ trajectory, configuration, window, runs: ids }) => [
        trajectory,
        configuration,
        window,
        ids.join(),
      ]),
    ).toEqual([
      ["orbit", "weighted", "cycles", "1"],
      ["orbit", "bare", "cycles", "2,8"],
      ["orbit", "bare", "hold", "6"],
      ["orbit", "sham", "cycles", "5"],
      ["reach", "bare", "cycles", "7"],
    ]);
    expect(configurationBudgets([])).toEqual([]);
  });

  test("no error at all has no shares; a run without error among others counts with nothing", () => {
    const columns = invented(20);
    const none = { x: new Float64Array(20), y: new Float64Array(20), z: new Float64Array(20) };
    const still = { vehicle: none, attitude: none, arm: none };
    expect(configurationBudgets([runOf("1", still)])[0]!.norm).toEqual({
      rms: 0,
      parts: { vehicle: 0, attitude: 0, arm: 0 },
      shares: null,
    });
    const [mixed] = configurationBudgets([runOf("1", still), runOf("2", columns)]);
    const alone = runOf("2", columns).budget!;
    expect(mixed!.x.rms).toBeCloseTo(alone.x.rms / Math.SQRT2, 14);
    expect(mixed!.x.shares!.vehicle).toBeCloseTo(alone.x.shares!.vehicle, 14);
  });
});
