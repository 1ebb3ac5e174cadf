import * as z from "zod";
import { judgedAxes } from "../catalogue/axes.ts";
import { cellAxes, measureIds, measureUnitIds } from "../catalogue/measures.ts";
import { checkCodes } from "../foundation/checks.ts";
import { subjects } from "../foundation/signals.ts";

/** What the comparison may say of a cell (design, section 2). */
export const verdicts = [
  "steadier",
  "less steady",
  "no difference that matters",
  "within the noise",
  "too few runs",
  "no spread",
  "doubted",
] as const;
export type Verdict = (typeof verdicts)[number];

/** Whether nothing could be compared: too few runs, or runs that do not differ at all among themselves. */
export function isUntested(verdict: Verdict | null): boolean {
  return verdict === "too few runs" || verdict === "no spread";
}

const number = z.number();
const nullable = z.number().nullable();
const interval = z.tuple([number, number]);

const sideSchema = z.strictObject({
  /** used runs that have this measure */
  n: z.int(),
  /** null without a run */
  mean: nullable,
  /** n - 1; null with fewer than 2 runs */
  sd: nullable,
  /** one value per run, metres, in the order of `runs` */
  values: z.array(number),
  /** ids of the runs */
  runs: z.array(z.string()),
});

/** What a constant offset is to a verdict on the rms (src/comparison/constantOffset.ts). */
export const constantRoles = ["explains", "drowns", "hides", "adds"] as const;
export type ConstantRole = (typeof constantRoles)[number];

/** The same comparison of another measure of the same runs. */
const besideSchema = z.strictObject({ difference: number, ci95: interval.nullable(), p: nullable }).nullable();

/** What the mean errors of the runs have in common, and what is left without it; metres. */
const constantSchema = z.strictObject({
  /** of the mean square over all runs, 0 to 1 */
  share: number,
  /** mean error over all runs */
  common: number,
  /** candidate's mean error less the baseline's, as the verdict takes its difference */
  step: number,
  step_ci95: interval.nullable(),
  /** between the mean errors of the blocks; null with one block */
  block_step: nullable,
  sd: besideSchema,
  synchronous: besideSchema,
  /** null where it changes nothing in what the verdict says */
  role: z.enum(constantRoles).nullable(),
});

/**
 * One cell: trajectory x subject x axis x metric, baseline against candidate. Lengths in metres. What cannot be had
 * (too few runs, no spread, no smallest difference declared, not of the family) is null.
 */
export const cellSchema = z.strictObject({
  trajectory: z.string(),
  subject: z.enum(subjects),
  /** along an axis, or over all of them together */
  axis: z.enum(cellAxes),
  /** the axes x, y, z: of the world; forward, left and up in the heading of each run; or, of the arm, the vehicle's own */
  judged_in: z.enum(judgedAxes),
  metric: z.enum(measureIds),
  /** of values, difference and intervals */
  unit: z.enum(measureUnitIds),
  /** belongs to the declared family and carries a verdict; all else is exploratory */
  in_family: z.boolean(),
  baseline: sideSchema,
  candidate: sideSchema,
  /**
   * candidate - baseline, negative = steadier: of the means, or within blocks where `method` is `blocked` (the two agree
   * where every block holds equal numbers of both)
   */
  difference: nullable,
  /** difference / baseline mean */
  ratio: nullable,
  /** of the ratio; an end that is not bounded is null */
  ratio_ci95: z.tuple([nullable, nullable]).nullable(),
  method: z.enum(["welch", "blocked"]),
  /** of the difference, and its degrees of freedom */
  se: nullable,
  df: nullable,
  ci95: interval.nullable(),
  ci90: interval.nullable(),
  /** two-sided, of this cell alone */
  p: nullable,
  /** Holm's p among the family */
  p_family: nullable,
  p_permutation: nullable,
  /** the smallest permutation p these runs could ever give */
  p_least: nullable,
  /** rearrangements of the labels looked at */
  arrangements: z.int().nullable(),
  /** all rearrangements were looked at; else a seeded sample of them */
  exact: z.boolean().nullable(),
  p_equivalence: nullable,
  smallest_difference: nullable,
  /** null for exploratory cells */
  verdict: z.enum(verdicts).nullable(),
  /** the verdict with the runs put back that a person excluded */
  verdict_all_runs: z.enum(verdicts).nullable(),
  /** codes of the checks that could have made the difference; filled where the verdict is `doubted` */
  doubts: z.array(z.enum(checkCodes)),
  /** of the rms alone; null for other measures, or with fewer than two runs of either configuration */
  constant: constantSchema.nullable(),
  /** why the verdict hangs by a thread; empty where it does not */
  fragile: z.array(z.string()),
  /** what the difference of a single pair of like runs stays below in 95 of 100 pairs: sd between runs, its df, the limit */
  pair: z.strictObject({ sd: number, df: number, limit: number }).nullable(),
  /** runs per configuration for 80 % power at the smallest difference, over the uncertainty of the spread */
  runs_needed: z.strictObject({ low: z.int(), middle: z.int(), high: z.int() }).nullable(),
});
export type Cell = z.infer<typeof cellSchema>;
export type CellConstant = z.infer<typeof constantSchema>;
export type CellSide = z.infer<typeof sideSchema>;
