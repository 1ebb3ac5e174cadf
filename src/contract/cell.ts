import * as z from "zod";
import { cellAxes, judgedAxes, measureIds, measureUnitIds } from "../catalogue/measures.ts";
import { verdicts } from "../catalogue/verdicts.ts";
import { checkCodes } from "../foundation/checks.ts";
import { subjects } from "../foundation/tracks.ts";
import { cellLookSchema } from "./looksPlan.ts";
import { byUnit, counted, interval, metres, plain } from "./quantities.ts";

const range = interval(byUnit);

const sideSchema = z.strictObject({
  n: counted.describe("used runs that have this measure"),
  mean: byUnit.nullable().describe("mean over the runs; null without a run"),
  sd: byUnit.nullable().describe("standard deviation (n - 1); null with fewer than 2 runs"),
  values: z.array(byUnit).describe("one value per run, in the order of `runs`"),
  runs: z.array(z.string()).describe("ids of the runs"),
});

/** What a constant offset is to a verdict on the rms (src/comparison/constantOffset.ts). */
export const constantRoles = ["explains", "drowns", "hides", "adds"] as const;
export type ConstantRole = (typeof constantRoles)[number];

const besideSchema = z
  .strictObject({
    difference: metres.describe("candidate less baseline"),
    ci95: interval(metres).nullable().describe("its 95 % interval"),
    p: plain.nullable().describe("two-sided"),
  })
  .nullable();

const constantSchema = z.strictObject({
  share: plain.describe("of the mean square over all runs, 0 to 1"),
  common: metres.describe("mean error over all runs"),
  step: metres.describe("candidate's mean error less the baseline's, as the verdict takes its difference"),
  step_ci95: interval(metres).nullable().describe("its 95 % interval"),
  block_step: metres.nullable().describe("between the mean errors of the blocks; null with one block"),
  sd: besideSchema.describe("the same comparison of the standard deviation"),
  synchronous: besideSchema.describe("the same comparison of the synchronous error"),
  role: z
    .enum(constantRoles)
    .nullable()
    .describe("what the offset is to the verdict; null where it changes nothing in what the verdict says"),
});

/**
 * One cell: trajectory x subject x axis x metric, baseline against candidate. What cannot be known (too few runs, no spread, no
 * smallest difference declared, not of the family) is null.
 */
export const cellSchema = z.strictObject({
  trajectory: z.string().describe("name of the trajectory"),
  subject: z.enum(subjects).describe("whose error"),
  axis: z.enum(cellAxes).describe("along an axis, or over all of them together (norm)"),
  judged_in: z
    .enum(judgedAxes)
    .describe(
      "the axes x, y, z: of the world; forward, left and up in the heading of each run; or, of the arm, the vehicle's own",
    ),
  axis_name: z
    .string()
    .nullable()
    .describe(
      "what the manifest calls this axis of the world (`axis_names`); null where it has no name, or the cell is judged in other axes",
    ),
  metric: z.enum(measureIds).describe("the measure"),
  unit: z.enum(measureUnitIds).describe("of values, difference and intervals"),
  in_family: z.boolean().describe("belongs to the declared family and carries a verdict; all else is exploratory"),
  baseline: sideSchema.describe("the runs compared with"),
  candidate: sideSchema.describe("the runs in question"),
  difference: byUnit
    .nullable()
    .describe(
      "candidate - baseline: of the means, or within blocks where `method` is `blocked` (the two agree where every block holds equal numbers of both)",
    ),
  ratio: plain.nullable().describe("difference / baseline mean, both of the runs that the difference is taken from"),
  ratio_ci95: z
    .tuple([plain.nullable(), plain.nullable()])
    .nullable()
    .describe(
      "its 95 % interval by Fieller's method; null without spread, or where the baseline is not distinguished from 0",
    ),
  method: z.enum(["welch", "blocked"]).describe("how the difference is taken and tested"),
  se: byUnit.nullable().describe("standard error of the difference"),
  df: plain.nullable().describe("its degrees of freedom"),
  ci95: range.nullable().describe("95 % interval of the difference"),
  ci90: range.nullable().describe("90 % interval of the difference"),
  p: plain.nullable().describe("two-sided, of this cell alone"),
  p_family: plain.nullable().describe("Holm's p among the family"),
  p_permutation: plain.nullable().describe("of the permutation test"),
  p_least: plain.nullable().describe("the smallest permutation p these runs could ever give"),
  arrangements: counted.nullable().describe("rearrangements of the labels looked at"),
  exact: z.boolean().nullable().describe("all rearrangements were looked at; else a seeded sample of them"),
  p_equivalence: plain
    .nullable()
    .describe("of the two one-sided tests that the difference is smaller than the smallest that matters"),
  smallest_difference: byUnit.nullable().describe("the smallest change that would matter; null where none is declared"),
  verdict: z.enum(verdicts).nullable().describe("null for exploratory cells"),
  verdict_all_runs: z.enum(verdicts).nullable().describe("the verdict with the runs put back that a person excluded"),
  doubts: z
    .array(z.enum(checkCodes))
    .describe("codes of the checks that could have made the difference; filled where the verdict is `doubted`"),
  constant: constantSchema
    .nullable()
    .describe(
      "what the mean errors of the runs have in common, and what is left without it; of the rms alone, and null with fewer than two runs of either configuration",
    ),
  fragile: z.array(z.string()).describe("why the verdict hangs by a thread; empty where it does not"),
  pair: z
    .strictObject({
      sd: byUnit.describe("between runs of one configuration"),
      df: plain.describe("its degrees of freedom"),
      limit: byUnit.describe("below which the difference of a pair stays in 95 of 100"),
    })
    .nullable()
    .describe("what a single pair of like runs differs by"),
  runs_needed: z
    .strictObject({
      low: counted.describe("with the least spread"),
      middle: counted.describe("with the spread found"),
      high: counted.describe("with the greatest spread"),
    })
    .nullable()
    .describe("runs per configuration for 80 % power at the smallest difference, over the uncertainty of the spread"),
  look: cellLookSchema
    .optional()
    .describe(
      "what this look costs and needs; there where the manifest pays for looks and the cell is of the family and tested. The intervals are then repeated ones: at all looks together they hold",
    ),
});
export type Cell = z.infer<typeof cellSchema>;
export type CellConstant = z.infer<typeof constantSchema>;
export type CellSide = z.infer<typeof sideSchema>;
