import type { Cell } from "../../src/contract/cell.ts";
import {
  type CampaignEvaluation,
  evaluationSchema,
  evaluationSchemaNumber,
  type HoverFigures,
  type RunEvaluation,
  type TrackingFigures,
} from "../../src/contract/evaluation.ts";

/** A small evaluation with invented round numbers, for tests of what is made of evaluations. Nothing here was measured. */
export function inventedEvaluation(changes: Partial<CampaignEvaluation> = {}): CampaignEvaluation {
  return evaluationSchema.parse({
    schema: evaluationSchemaNumber,
    title: "Invented campaign",
    tool: { name: "counterpoise", version: "0.0.0", commit: null, parts: "0123456789ab" },
    inputs: [{ path: "campaign.yaml", sha256: "0".repeat(64), bytes: 1234 }],
    settings: {
      thresholds: { gap_intervals: 2.5 },
      primary: "rms",
      tolerance: null,
      baseline: "bare",
      candidate: "weighted",
      sham: null,
      smallest_difference: { vehicle: 0.0015, effector: 0.0015, arm: null },
      configurations: {
        bare: { label: "Arm alone", added_mass: null, counterweights: [] },
        weighted: { label: "Counterweights fitted", added_mass: 0.54, counterweights: [] },
      },
      trajectories: { orbit: "circle in yz, radius 60 mm, period 1.508 s, 12 cycles" },
      truth: { vehicle: "/mocap/airframe", effector: "/mocap/tool" },
      signals: {},
      judged_in: { orbit: { axes: "world", apart: 0, declared: false } },
      axis_names: { x: null, y: null, z: null },
      common_cycles: { orbit: 11 },
      common_hold: { orbit: 15 },
    },
    fitted: [],
    noise: {
      source: "static",
      vehicle: { x: 0.0002, y: 0.0003, z: 0.0006 },
      effector: { x: 0.0001, y: 0.0002, z: 0.0002 },
      detail: { vehicle: null, effector: null, captures: ["static.bag"], checks: [] },
    },
    // by run: error 1, 2 and 3 mm on x with the arm alone; 0.5 and 0.7 mm with counterweights
    runs: [
      inventedRun({ id: "run-1", size: 0.001, delay: 0.04 }),
      inventedRun({ id: "run-2", size: 0.002, delay: 0.05 }),
      inventedRun({ id: "run-3", size: 0.003, delay: 0.06 }),
      inventedRun({ id: "run-4", configuration: "weighted", size: 0.0005 }),
      inventedRun({ id: "run-5", configuration: "weighted", size: 0.0007 }),
    ],
    cells: [],
    looks: { count: 1, first: null, recorded: true },
    reasons: { budget: [], frames: [], synchronous: [], imbalance: [], components: [], moving: [] },
    plan: {
      unit: "m",
      runs_per_configuration: 3,
      runs_to_fly: 3,
      flown: 0,
      because: "invented",
      blocks: 1,
      power: 0.8,
      level: 0.05,
      family: 0,
      cells: [],
      assumed: [],
      designs: [],
    },
    audit: { blocks: [], order: [], configurations: {}, sham: [], parameters: [], findings: [] },
    bench: null,
    costs: null,
    ...changes,
  });
}

/**
 * One invented run. With s = `size`, vehicle and effector alike: on x rms s, bias -s/2, range 4 s; y and z two and three times
 * that; norm five times, without a range; synchronous rms s/10 on every axis. Hover: bias and sd s, slope s/10 a second.
 */
export function inventedRun(
  wanted: Partial<RunEvaluation> & { id: string; size?: number; delay?: number | null; slopeCi?: [number, number] },
): RunEvaluation {
  const { size = 0.001, delay = null, slopeCi = [-0.001, 0.001], ...changes } = wanted;
  const figures = (scale: number, range: boolean): TrackingFigures => ({
    bias: (-scale * size) / 2,
    sd: scale * size,
    rms: scale * size,
    mean_abs: scale * size,
    p95: scale * size,
    max_abs: scale * size,
    range: range ? 4 * scale * size : null,
    rms_delay_removed: null,
    per_cycle: [scale * size],
  });
  const tracking = { delay, x: figures(1, true), y: figures(2, true), z: figures(3, true), norm: figures(5, false) };
  const axis: HoverFigures["x"] = {
    bias: size,
    sd: size,
    slope: size / 10,
    slope_se: null,
    slope_ci: slopeCi,
    end_minus_start: null,
    sd_low: null,
    sd_high: null,
  };
  const radii = { r50: size, r95: 2 * size };
  const hover: HoverFigures = { x: axis, y: axis, z: axis, about_mean: radii, about_setpoint: radii };
  const split = { harmonics: [], rms: size / 10, remaining_rms: size };
  const splits = { x: split, y: split, z: split };
  return {
    log: [`${changes.id}.bag`],
    configuration: "bare",
    trajectory: "orbit",
    block: "day1",
    epoch: "1700000000000000000",
    used: true,
    excluded_because: null,
    put_back_because: null,
    outcome: "completed",
    started: null,
    battery: null,
    takeoff_mass: null,
    notes: null,
    checks: [],
    clocks: {},
    windows: { hold: [1, 16], cycles: [[20, 21.508]] },
    heading: { yaw: 0, source: "setpoint", taken_out: null },
    period: 1.508,
    valid_fraction: { vehicle: 1, effector: 1 },
    tracking: { cycles: { vehicle: tracking, effector: tracking }, hold: { vehicle: tracking, effector: tracking } },
    hold: { vehicle: hover, effector: hover },
    attitude: null,
    synchronous: { vehicle: splits, effector: splits },
    within: null,
    path: null,
    budget: null,
    allan: null,
    spectrum: null,
    markers: null,
    moving: null,
    moving_missing: null,
    ...changes,
  };
}

/**
 * One invented cell of the family: vehicle along x in orbit, five runs of each, 4 mm with the arm alone; within the noise.
 *
 * @param wanted.mm  difference and ends of its 95 % interval, millimetres; the ratio is of 4 mm, its interval 0.8 to 1.2 of it, the 90 % interval 0.8 as wide
 * @param wanted.n   runs of baseline and candidate
 */
export function inventedCell(
  wanted: Partial<Cell> & { mm?: readonly [number, number, number] | null; n?: readonly [number, number] } = {},
): Cell {
  const { mm = [-0.5, -1.5, 0.5], n = [5, 5], ...changes } = wanted;
  const difference = mm === null ? null : mm[0] / 1000;
  const ratio = changes.ratio ?? (difference === null ? null : difference / 0.004);
  const side = (count: number, mean: number): Cell["baseline"] => ({
    n: count,
    mean: count === 0 ? null : mean,
    sd: count < 2 ? null : 0.0005,
    values: Array.from({ length: count }, () => mean),
    runs: Array.from({ length: count }, (_, i) => `run-${i + 1}`),
  });
  return {
    trajectory: "orbit",
    subject: "vehicle",
    axis: "x",
    judged_in: "world",
    axis_name: null,
    metric: "rms",
    unit: "m",
    in_family: true,
    baseline: side(n[0], 0.004),
    candidate: side(n[1], 0.004 + (difference ?? 0)),
    difference,
    ratio,
    ratio_ci95: ratio === null ? null : [Math.min(0.8 * ratio, 1.2 * ratio), Math.max(0.8 * ratio, 1.2 * ratio)],
    method: "welch",
    se: mm === null ? null : 0.0004,
    df: mm === null ? null : 8,
    ci95: mm === null ? null : [mm[1] / 1000, mm[2] / 1000],
    ci90: mm === null ? null : [(mm[0] + 0.8 * (mm[1] - mm[0])) / 1000, (mm[0] + 0.8 * (mm[2] - mm[0])) / 1000],
    p: mm === null ? null : 0.3,
    p_family: mm === null ? null : 1,
    p_permutation: mm === null ? null : 0.3,
    p_least: mm === null ? null : 0.008,
    arrangements: mm === null ? null : 252,
    exact: mm === null ? null : true,
    p_equivalence: mm === null ? null : 0.2,
    smallest_difference: 0.0015,
    verdict: "within the noise",
    verdict_all_runs: changes.verdict ?? "within the noise",
    doubts: [],
    constant: null,
    fragile: [],
    pair: null,
    runs_needed: null,
    ...changes,
  };
}

/** A family: vehicle and effector along x, y and z in each trajectory; `of` says what differs from `inventedCell()`. */
export function inventedFamily(
  trajectories: readonly string[],
  of: (place: Pick<Cell, "trajectory" | "subject" | "axis">) => Parameters<typeof inventedCell>[0] = () => ({}),
): Cell[] {
  return trajectories.flatMap((trajectory) =>
    (["vehicle", "effector"] as const).flatMap((subject) =>
      (["x", "y", "z"] as const).map((axis) => {
        const place = { trajectory, subject, axis };
        return inventedCell({ ...place, ...of(place) });
      }),
    ),
  );
}
