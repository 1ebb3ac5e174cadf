import * as z from "zod";
import { cellAxes, measureIds, measureUnitIds } from "../catalogue/measures.ts";
import { verdicts } from "../catalogue/verdicts.ts";
import { subjects } from "../foundation/tracks.ts";
import { counted, plain } from "./quantities.ts";

/**
 * What another flight day could show: the part `plan` of evaluation.json, and what `counterpoise plan` adds to it. SI
 * throughout, every number finite, what is not known is null.
 */

const planUnit = plain.meta({ unit: "as `unit` of the plan says" });

/** An answer at the low, middle and high end of the spread's own uncertainty. */
const overSpread = <T extends z.ZodType>(value: T) =>
  z.strictObject({
    low: value.describe("with the least spread"),
    middle: value.describe("with the spread found"),
    high: value.describe("with the greatest spread"),
  });

const spread = z.strictObject({
  source: z
    .enum(["flown", "assumed"])
    .describe(
      "flown: what the runs of this cell have shown; assumed: plausible, for want of runs that repeat one another",
    ),
  sd: z.tuple([planUnit, planUnit]).describe("between runs, baseline and candidate"),
  df: plain.nullable().describe("degrees of freedom of the flown spread; null where assumed"),
});

const planned = {
  half_width: overSpread(planUnit).describe(
    "half-width of the 95 % interval to be expected with `runs_per_configuration`",
  ),
  detectable: overSpread(planUnit).describe("smallest difference seen with `power` in a family of this size"),
  runs_for_difference: overSpread(counted)
    .nullable()
    .describe("runs per configuration that show the smallest difference; null without one declared"),
  runs_for_equivalence: overSpread(counted)
    .nullable()
    .describe("runs per configuration that show that there is none; null without one declared"),
};

export const planCellSchema = z.strictObject({
  trajectory: z.string().describe("name of the trajectory"),
  subject: z.enum(subjects).describe("whose error"),
  axis: z.enum(cellAxes).describe("along which axis"),
  metric: z.enum(measureIds).describe("the measure"),
  verdict: z.enum(verdicts).nullable().describe("of the runs flown"),
  smallest_difference: planUnit.nullable().describe("the smallest change that would matter"),
  flown: z
    .strictObject({ baseline: counted.describe("of the baseline"), candidate: counted.describe("of the candidate") })
    .describe("used runs"),
  spread: spread.describe("how runs scatter"),
  ...planned,
});

export const planSchema = z.strictObject({
  unit: z.enum(measureUnitIds).describe("of sd, half_width, detectable and smallest_difference"),
  runs_per_configuration: counted.describe(
    "per configuration and trajectory: what the forecasts are for, flown before or not",
  ),
  runs_to_fly: counted.describe("of these, still to be flown; all of them where a repetition is planned"),
  flown: counted.describe("fewest used runs of a configuration in a cell of the family"),
  because: z.string().describe("why this many, in words"),
  blocks: counted.describe("blocks to spread them over"),
  power: plain.describe("chance with which a difference is to be seen"),
  level: plain.describe("two-sided level of a single cell's test: the family's divided by its size"),
  family: counted.describe("cells of the family"),
  cells: z.array(planCellSchema).describe("forecast of every cell of the family"),
  assumed: z
    .array(
      z.strictObject({
        sd: planUnit.describe("the spread assumed"),
        smallest_difference: planUnit.nullable().describe("the smallest change that would matter"),
        ...planned,
      }),
    )
    .describe(
      "where the spread is unknown: the same figures over plausible spreads, one row each; empty where every cell has its own",
    ),
  designs: z
    .array(
      z.strictObject({
        runs_per_configuration: counted.describe("runs of each configuration"),
        blocks: counted.describe("blocks they are spread over"),
        arrangements: plain.describe("rearrangements of the labels"),
        p_least: plain.describe("the smallest permutation p they could give"),
        can_reach: z.boolean().describe("p_least can lie below 0.05"),
        can_reach_family: z.boolean().describe("p_least can lie below the level of a single cell of the family"),
      }),
    )
    .describe("what designs could show at best, before they are flown"),
});
export type Plan = z.infer<typeof planSchema>;
export type PlanCell = z.infer<typeof planCellSchema>;

/** One flight (or static capture) to make, in its place of the order. */
export const testCardSchema = z.strictObject({
  /** 1, 2, ... over captures and flights */
  place: z.int(),
  kind: z.enum(["static capture", "flight"]),
  /** id and log name as the runs file has them; of a capture the log alone */
  id: z.string().nullable(),
  log: z.string(),
  block: z.string(),
  /** null for a static capture */
  configuration: z.string().nullable(),
  trajectory: z.string().nullable(),
  /** of the pack in this block: first, second, ... flight on it */
  battery: z.string().nullable(),
  flight_on_battery: z.int().nullable(),
  /** the arm is rebuilt before this flight (the configuration changes, or the pair asks for it) */
  refit: z.boolean(),
  /** one of the two baseline flights that show what no difference looks like */
  pair: z.boolean(),
});
export type TestCard = z.infer<typeof testCardSchema>;

export const flightDaySchema = z.strictObject({
  seed: z.int(),
  blocks: z.int(),
  runs_per_configuration: z.int(),
  configurations: z.array(
    z.strictObject({ name: z.string(), label: z.string(), role: z.enum(["baseline", "candidate", "sham"]) }),
  ),
  trajectories: z.array(z.string()),
  cards: z.array(testCardSchema),
  /** per trajectory: places by which the candidate is flown later than the baseline on average within blocks (0: no steady drift can fake a difference) */
  later: z.record(z.string(), plain),
  arrangements: plain,
  p_least: plain,
  /** the file of runs as the manifest reads it (`runs: runs.csv`) */
  runs_csv: z.string(),
});
export type FlightDay = z.infer<typeof flightDaySchema>;
