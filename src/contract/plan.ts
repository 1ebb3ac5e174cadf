import * as z from "zod";
import { cellAxes, measureIds, measureUnitIds } from "../catalogue/measures.ts";
import { subjects } from "../foundation/signals.ts";
import { verdicts } from "./cell.ts";

/**
 * What another flight day could show: the part `plan` of evaluation.json, and what `counterpoise plan` adds to it. SI
 * throughout, every number finite, what cannot be had is null.
 */

const number = z.number();
const nullable = z.number().nullable();

/** An answer at the low, middle and high end of the spread's own uncertainty. */
const overSpread = <T extends z.ZodType>(value: T) => z.strictObject({ low: value, middle: value, high: value });

const spread = z.strictObject({
  /** `flown`: what the runs of this cell have shown; `assumed`: plausible, for want of runs that repeat one another */
  source: z.enum(["flown", "assumed"]),
  /** between runs, baseline and candidate, in the plan's unit */
  sd: z.tuple([number, number]),
  /** degrees of freedom of the flown spread; null where assumed */
  df: nullable,
});

const planned = {
  /** half-width of the 95 % interval to be expected with `runs_per_configuration`, in the plan's unit */
  half_width: overSpread(number),
  /** smallest difference seen with `power` in a family of this size, in the plan's unit */
  detectable: overSpread(number),
  /** runs per configuration that show the smallest difference, and that show that there is none; null without one declared */
  runs_for_difference: overSpread(z.int()).nullable(),
  runs_for_equivalence: overSpread(z.int()).nullable(),
};

export const planCellSchema = z.strictObject({
  trajectory: z.string(),
  subject: z.enum(subjects),
  axis: z.enum(cellAxes),
  metric: z.enum(measureIds),
  verdict: z.enum(verdicts).nullable(),
  smallest_difference: nullable,
  flown: z.strictObject({ baseline: z.int(), candidate: z.int() }),
  spread,
  ...planned,
});

export const planSchema = z.strictObject({
  /** of sd, half_width, detectable and smallest_difference */
  unit: z.enum(measureUnitIds),
  /** per configuration and trajectory: what the forecasts are for, flown before or not */
  runs_per_configuration: z.int(),
  /** of these, still to be flown; all of them where a repetition is planned */
  runs_to_fly: z.int(),
  /** fewest used runs of a configuration in a cell of the family */
  flown: z.int(),
  /** why this many, in words */
  because: z.string(),
  blocks: z.int(),
  power: number,
  /** two-sided level of a single cell's test: the family's divided by its size */
  level: number,
  family: z.int(),
  cells: z.array(planCellSchema),
  /** where the spread is unknown: the same figures over plausible spreads, one row each; empty where every cell has its own */
  assumed: z.array(z.strictObject({ sd: number, smallest_difference: nullable, ...planned })),
  /** least attainable permutation p of designs, before they are flown */
  designs: z.array(
    z.strictObject({
      runs_per_configuration: z.int(),
      blocks: z.int(),
      arrangements: number,
      p_least: number,
      /** p_least can lie below 0.05, and below the level of a single cell of the family */
      can_reach: z.boolean(),
      can_reach_family: z.boolean(),
    }),
  ),
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
  later: z.record(z.string(), number),
  arrangements: number,
  p_least: number,
  /** the file of runs as the manifest reads it (`runs: runs.csv`) */
  runs_csv: z.string(),
});
export type FlightDay = z.infer<typeof flightDaySchema>;
