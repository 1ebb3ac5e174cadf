import {
  type CampaignEvaluation,
  evaluationSchema,
  type HoverFigures,
  type RunEvaluation,
  type TrackingFigures,
} from "../../src/contract/evaluation.ts";

/** A small evaluation with invented round numbers, for tests of what is made of evaluations. Nothing here was measured. */
export function inventedEvaluation(changes: Partial<CampaignEvaluation> = {}): CampaignEvaluation {
  return evaluationSchema.parse({
    schema: 1,
    title: "Invented campaign",
    tool: { name: "counterpoise", version: "0.0.0" },
    inputs: [{ path: "campaign.yaml", sha256: "0".repeat(64), bytes: 1234 }],
    settings: {
      thresholds: { gap_intervals: 2.5 },
      primary: "rms",
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
    plan: null,
    audit: null,
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
    outcome: "completed",
    started: null,
    battery: null,
    takeoff_mass: null,
    notes: null,
    checks: [],
    clocks: {},
    windows: { hold: [1, 16], cycles: [[20, 21.508]] },
    period: 1.508,
    valid_fraction: { vehicle: 1, effector: 1 },
    tracking: { cycles: { vehicle: tracking, effector: tracking }, hold: { vehicle: tracking, effector: tracking } },
    hold: { vehicle: hover, effector: hover },
    attitude: null,
    synchronous: { vehicle: splits, effector: splits },
    path: null,
    budget: null,
    allan: null,
    spectrum: null,
    ...changes,
  };
}
