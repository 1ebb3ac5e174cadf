import * as z from "zod";
import { verdicts } from "../../catalogue/verdicts.ts";
import { auditSchema } from "../audit.ts";
import { benchSchema } from "../benchEvaluation.ts";
import { toFlightSchema } from "../benchToFlight.ts";
import { cellSchema } from "../cell.ts";
import { costsSchema } from "../costs.ts";
import { evaluationSchema } from "../evaluation.ts";
import { flightDaySchema, planSchema } from "../plan.ts";
import { reasonsSchema } from "../reasons.ts";
import { interval, nullable, nullables, number, numbers } from "./bricks.ts";

/** `GET /api/cells`: the cells that match the query, the declared family first. */
export const cellsAnswerSchema = z.strictObject({ cells: z.array(cellSchema) });
export type CellsAnswer = z.infer<typeof cellsAnswerSchema>;

const cellRun = z.strictObject({
  id: z.string(),
  configuration: z.string(),
  role: z.enum(["baseline", "candidate", "sham", "other"]),
  block: z.string().nullable(),
  /** in the order flown, as in `GET /api/runs` */
  order: z.int(),
  used: z.boolean(),
  excluded_because: z.string().nullable(),
  /** excluded by a person, and could be put back; an unusable run could not */
  could_be_put_back: z.boolean(),
  /** the cell's measure of this run, in the cell's unit; null where the run has none */
  value: nullable,
  /** rms of each cycle on this axis, metres, whatever the metric; empty where there are no cycles */
  per_cycle: nullables,
});

/** The comparison made again with other runs. */
const variant = z.strictObject({
  difference: nullable,
  ci95: interval.nullable(),
  p: nullable,
  p_family: nullable,
  /** null for exploratory cells */
  verdict: z.enum(verdicts).nullable(),
});

/**
 * `GET /api/cells/:trajectory/:subject/:axis/:metric`: the cell and what its page draws. Parts that cannot be calculated (too
 * few runs, no smallest difference) are null or empty.
 */
export const cellAnswerSchema = z.strictObject({
  cell: cellSchema,
  /** sd of the measurement noise on this axis, metres */
  noise: nullable,
  /** all runs of the trajectory, used or not, in the order of the manifest */
  runs: z.array(cellRun),
  /** differences under rearranged labels, the one flown among them */
  permutation: z
    .strictObject({
      /** difference as flown, metres */
      observed: number,
      /** edges of the bins, one more than `counts`; the last bin holds its upper edge */
      edges: numbers,
      counts: z.array(z.int()),
      /** of these, how many are at least as far from 0 as the one flown */
      extreme: z.array(z.int()),
      arrangements: z.int(),
      exact: z.boolean(),
      p: number,
      p_least: nullable,
    })
    .nullable(),
  /** one entry per used run of the pair: the comparison without it, the other cells kept */
  leave_one_out: z.array(variant.extend({ run: z.string() })),
  /** with the runs put back that a person excluded; null where there is none */
  all_runs: variant.nullable(),
  /** power at the smallest difference over runs per configuration, for the spread at its low, middle and high end */
  power: z
    .strictObject({
      /** the power asked for (settings.thresholds.power) */
      target: number,
      smallest_difference: number,
      runs: z.array(z.int()),
      low: numbers,
      middle: numbers,
      high: numbers,
    })
    .nullable(),
});
export type CellAnswer = z.infer<typeof cellAnswerSchema>;
export type CellRun = z.infer<typeof cellRun>;

/** `GET /api/reasons`: why the differences are as they are, and in words what moves as flown and what is left to balance (suggestions, with cautions). */
export const reasonsAnswerSchema = z.strictObject({
  reasons: reasonsSchema,
  moving: z.array(z.strictObject({ text: z.string(), items: z.array(z.string()) })),
  /** bench and flights side by side, in words; none without a bench */
  bench: z.array(z.strictObject({ text: z.string(), items: z.array(z.string()) })),
  bench_to_flight: toFlightSchema.optional(),
  imbalance: z.array(z.string()),
});
export type ReasonsAnswer = z.infer<typeof reasonsAnswerSchema>;

/** `GET /api/costs`: what the mass costs, the options with what they buy, and the rest in words; costs null where nothing of it is known. */
export const costsAnswerSchema = z.strictObject({
  costs: costsSchema.nullable(),
  options: z.array(
    z.strictObject({
      configuration: z.string(),
      left: z.array(
        z.strictObject({ place: z.string(), value: number, ci95: interval.nullable(), unit: z.enum(["kg", "1"]) }),
      ),
      /** in words; "" for all but the candidate */
      verdicts: z.string(),
    }),
  ),
  paragraphs: z.array(z.strictObject({ text: z.string(), items: z.array(z.string()) })),
});
export type CostsAnswer = z.infer<typeof costsAnswerSchema>;

/** `GET /api/bench`: the arm on the stand, and its answer in words; 404 where the manifest has no bench. */
export const benchAnswerSchema = z.strictObject({ sentence: z.string(), bench: benchSchema });
export type BenchAnswer = z.infer<typeof benchAnswerSchema>;

/** `GET /api/audit`: what else could have made the difference, what was fitted, how often it was looked at. */
export const auditAnswerSchema = z.strictObject({
  audit: auditSchema,
  fitted: evaluationSchema.shape.fitted,
  /** null where the service is blind: no look is counted */
  looks: evaluationSchema.shape.looks.nullable(),
});
export type AuditAnswer = z.infer<typeof auditAnswerSchema>;

/** `GET /api/plan`: forecasts for a design, and an order to fly it in. */
export const planAnswerSchema = z.strictObject({ plan: planSchema, day: flightDaySchema });
export type PlanAnswer = z.infer<typeof planAnswerSchema>;
