import * as z from "zod";
import { cellAxes, measureIds } from "../catalogue/measures.ts";
import { verdicts } from "../catalogue/verdicts.ts";
import { subjects } from "../foundation/tracks.ts";
import { counted, plain } from "./quantities.ts";

/** How the error that a campaign allows itself is shared out over its looks. */
export const spendingKinds = ["obrien-fleming", "pocock"] as const;
export type SpendingKind = (typeof spendingKinds)[number];

/** Looks that are paid for, as the manifest declares them before the first. */
export const looksPlanSchema = z.strictObject({
  runs_at_most: counted.describe("runs of either configuration on each trajectory when all are flown"),
  spending: z.enum(spendingKinds).describe("how the error is shared out over the looks"),
});
export type LooksPlan = z.infer<typeof looksPlanSchema>;

/** The same with what was spent of it. */
export const looksPaidSchema = looksPlanSchema.extend({
  error: plain.describe("the family's error, all looks together"),
  trajectories: z
    .array(
      z.strictObject({
        trajectory: z.string().describe("name of the trajectory"),
        fraction: plain.describe("of the runs declared, by the information they give; above 1 more were flown"),
        cost: plain.describe("of the error, what this look spends"),
        spent: plain.describe("of it, what is spent up to this look"),
      }),
    )
    .describe("those with a cell that could be tested"),
});
export type LooksPaid = z.infer<typeof looksPaidSchema>;

/** What a look at a cell of the family cost, and what it needs. */
export const cellLookSchema = z.strictObject({
  fractions: z
    .array(plain)
    .describe("of the runs declared: at the looks before that had fewer, then now; by the information they give"),
  cost: plain.describe("of the family's error, what this look spends"),
  spent: plain.describe("of it, what is spent up to this look"),
  threshold: plain.describe(
    "two-sided p below which the cell is claimed at this look, given what the other cells show",
  ),
  p: plain.describe("the smallest error for all looks together at which this look would claim the cell"),
  entered: plain.describe("the smallest of these over the looks so far: what enters Holm's step-down"),
  claimed: z
    .strictObject({
      verdict: z.enum(verdicts).describe("as it was then"),
      fraction: plain.describe("of the runs declared, then"),
    })
    .nullable()
    .describe("the claim that an earlier look made, which stays; null where none did"),
  chance: plain
    .nullable()
    .describe(
      "that a true change as large as the smallest difference is still claimed when all runs are flown; null where it is claimed, or none is declared",
    ),
});
export type CellLook = z.infer<typeof cellLookSchema>;

/** What a line of looks.jsonl holds of a cell, for the looks after it. */
export const paidCellSchema = z.strictObject({
  trajectory: z.string(),
  subject: z.enum(subjects),
  axis: z.enum(cellAxes),
  metric: z.enum(measureIds),
  /** of the runs declared; null where the cell could not be tested, and nothing was spent */
  fraction: z.number().nullable(),
  /** as `p` of a cell's look, of this look alone */
  p: z.number(),
  /** in the unit of the measure; null where there was none */
  difference: z.number().nullable(),
  /** as it was shown */
  verdict: z.enum(verdicts),
});
export type PaidCell = z.infer<typeof paidCellSchema>;
