import * as z from "zod";
import { judgedAxes } from "../../catalogue/measures.ts";
import { subjects } from "../../foundation/tracks.ts";
import { evaluationSchema } from "../evaluation.ts";
import { interval, nullable, nullables, number, numbers, perAxis, perAxisAndNorm } from "./bricks.ts";

/** A run of evaluation.json; blind, without its configuration and the figures of its error (`counterpoise check`). */
const run = evaluationSchema.shape.runs.element.extend({ configuration: z.string().nullable() });
export type ShownRun = z.infer<typeof run>;

/** A person's word on a run, and where it was said: the manifest's `exclude`, or exclusions.yaml, which is stronger. */
export const decisionSchema = z.strictObject({
  source: z.enum(["manifest", "exclusions.yaml"]),
  /** true: the run is put back that the manifest excludes */
  include: z.boolean(),
  reason: z.string(),
  /** ISO 8601; null where not on record */
  at: z.string().nullable(),
});
export type Decision = z.infer<typeof decisionSchema>;

const headline = {
  id: run.shape.id,
  log: run.shape.log,
  configuration: run.shape.configuration,
  trajectory: run.shape.trajectory,
  block: run.shape.block,
  started: run.shape.started,
  battery: run.shape.battery,
  takeoff_mass: run.shape.takeoff_mass,
  outcome: run.shape.outcome,
  notes: run.shape.notes,
  used: run.shape.used,
  excluded_because: run.shape.excluded_because,
} as const;

/** `GET /api/runs`: the runs of the day, in the order of the manifest. */
export const runsAnswerSchema = z.strictObject({
  runs: z.array(
    z.strictObject({
      ...headline,
      /** 1, 2, ... in the order flown: by `started` where every run has one, else as the manifest lists them */
      order: z.int(),
      decision: decisionSchema.nullable(),
      checks: run.shape.checks,
      cycles: z.int(),
      /** seconds of hold window; null without one */
      hold: nullable,
      /** rms over the cycles (the hold of a `hold` trajectory) per subject, metres; empty where the service is blind */
      rms: z.partialRecord(z.enum(subjects), perAxisAndNorm(number)),
    }),
  ),
});
export type RunsAnswer = z.infer<typeof runsAnswerSchema>;
export type RunRow = RunsAnswer["runs"][number];

/** `GET /api/runs/:id`: the run's own part of evaluation.json, and a person's word on it. */
export const runAnswerSchema = z.strictObject({ run, decision: decisionSchema.nullable() });
export type RunAnswer = z.infer<typeof runAnswerSchema>;

/** Where positions stand: `arm` in the measured vehicle frame, the others in the world or the run's heading. Errors likewise. */
const frame = z.enum(judgedAxes);

const extremes = z.strictObject({ low: numbers, high: numbers });

const figures = z.strictObject({
  bias: number,
  sd: number,
  rms: number,
  mean_abs: number,
  p95: number,
  max_abs: number,
  range: nullable,
});

/**
 * `GET /api/runs/:id/series`: the error over time, thinned for drawing, and the figures of the window.
 *
 * The window is cut into `points` columns. Each entry of a stretch holds the samples of one column: its first and last
 * instant, and the lowest and highest error among them; nothing is averaged, so no extreme is hidden. Where few samples
 * fall into a column the entry is a sample itself (`start` = `end`, `low` = `high`). Between two stretches lies a gap:
 * never draw across it. Stretches parted by gaps within one column are one entry of their own.
 */
export const seriesAnswerSchema = z.strictObject({
  run: z.string(),
  subject: z.enum(subjects),
  frame,
  /** where this subject was measured and commanded: first instant, and one interval after the last; seconds since the run's epoch */
  extent: interval,
  /** the window served, `to` not included */
  window: interval,
  stretches: z.array(
    z.strictObject({ start: numbers, end: numbers, x: extremes, y: extremes, z: extremes, norm: extremes }),
  ),
  /** of every sample in the window; null with fewer than two, and where the service is blind */
  figures: z
    .strictObject({
      /** samples */
      n: z.int(),
      /** share of the window with valid samples */
      valid_fraction: number,
      x: figures,
      y: figures,
      z: figures,
      norm: figures,
    })
    .nullable(),
  /** polylines with gaps between them; of each column the extremes of every axis are kept */
  path: z.strictObject({
    measured: z.array(z.strictObject({ t: numbers, x: numbers, y: numbers, z: numbers })),
    command: z.array(z.strictObject({ t: numbers, x: numbers, y: numbers, z: numbers })),
  }),
});
export type SeriesAnswer = z.infer<typeof seriesAnswerSchema>;

/** `GET /api/runs/:id/cycles`: the error over cycle phase, mean per bin; null in a bin without samples. */
export const cyclesAnswerSchema = z.strictObject({
  run: z.string(),
  subject: z.enum(subjects),
  frame,
  /** middle of each bin, radians, 0 to 2 pi */
  phase: numbers,
  cycles: z.array(z.strictObject({ window: interval, x: nullables, y: nullables, z: nullables })),
  /** mean of the cycles, each counting alike, over the cycles that have the bin */
  mean: perAxis(nullables),
  /** how many cycles stand behind each bin of the mean */
  behind: z.array(z.int()),
});
export type CyclesAnswer = z.infer<typeof cyclesAnswerSchema>;

/** `GET /api/runs/:id/hover`: errors of the hold window for a scatter, every k-th sample. */
export const hoverAnswerSchema = z.strictObject({
  run: z.string(),
  subject: z.enum(subjects),
  frame,
  /** null where the run has no hold window: then there are no points */
  window: interval.nullable(),
  /** samples in the window; one in `every` is handed out */
  n: z.int(),
  every: z.int(),
  t: numbers,
  x: numbers,
  y: numbers,
  z: numbers,
});
export type HoverAnswer = z.infer<typeof hoverAnswerSchema>;
