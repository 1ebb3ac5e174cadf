import * as z from "zod";
import { cellAxes, measureIds } from "../catalogue/measures.ts";
import { subjects } from "../foundation/signals.ts";

/**
 * What else than the counterweights could have made the difference: the part `audit` of evaluation.json. SI throughout,
 * every number finite, what cannot be had is null. What was fitted and how often it was looked at stand in `fitted` and
 * `looks`.
 */

const number = z.number();
const nullable = z.number().nullable();
const interval = z.tuple([number, number]);
const vector = z.array(number);

export const auditCodes = [
  "separate-blocks",
  "one-block",
  "uneven-blocks",
  "order-drift",
  "order-unknown",
  "drift-seen",
  "battery-apart",
  "mass-unknown",
  "mass-apart",
  "exclusions-apart",
  "aborts-apart",
  "valid-apart",
  "many-looks",
  "sham-missing",
  "settings-apart",
  "accepted",
  "accept-open",
] as const;

const finding = z.strictObject({
  code: z.enum(auditCodes),
  /** `note`: worth knowing; `doubt`: a reviewer will ask */
  severity: z.enum(["note", "doubt"]),
  message: z.string(),
  evidence: z.record(
    z.string(),
    z.union([z.string(), number, z.boolean(), z.null(), z.array(z.union([z.string(), number]))]),
  ),
  hint: z.string(),
});

/**
 * Every run that is not used stands in one of three: aborted before excluded by a person before unusable, so that
 * filed = used + aborted + excluded + unusable. Put back: by a person's word, whether or not it could be used.
 */
const counts = z.strictObject({
  filed: z.int(),
  used: z.int(),
  unusable: z.int(),
  excluded: z.int(),
  aborted: z.int(),
  put_back: z.int(),
});

/** One configuration less another, as the verdicts take their difference. */
const contrast = z.strictObject({
  /** runs that enter: of the one taken off, of the other */
  runs: z.tuple([z.int(), z.int()]),
  difference: nullable,
  se: nullable,
  df: nullable,
  ci95: interval.nullable(),
  /** two-sided, of this contrast alone */
  p: nullable,
});

export const auditSchema = z.strictObject({
  /** runs per trajectory, block and configuration; block null: none declared */
  blocks: z.array(
    z.strictObject({
      trajectory: z.string(),
      block: z.string().nullable(),
      /** with the mean heading of the used runs, radians from the world's x towards y; null where it is not known, or they face all ways */
      configurations: z.record(z.string(), z.strictObject({ filed: z.int(), used: z.int(), heading: nullable })),
    }),
  ),
  order: z.array(
    z.strictObject({
      trajectory: z.string(),
      /** where the order comes from */
      source: z.enum(["started", "log times", "manifest"]),
      /** configurations of the used runs of the pair in the order flown, and their ids */
      sequence: z.array(z.string()),
      runs: z.array(z.string()),
      /** place of each of them (1, 2, ...) among all flights of the campaign, other trajectories and unused runs included */
      places: z.array(z.int()),
      /** places by which the candidate was flown later, taken as the verdicts take their difference */
      later: nullable,
      /** share of the error that a steady drift of 2 % a flight would fake: 0.02 x later */
      faked: nullable,
      /** per cell of the family: drift per run within configurations (and blocks), and the difference it would have faked */
      drift: z.array(
        z.strictObject({
          subject: z.enum(subjects),
          axis: z.enum(cellAxes),
          metric: z.enum(measureIds),
          /** metres per place with its 95 % interval, and as a share of the mean of the runs */
          slope: number,
          slope_ci95: interval.nullable(),
          slope_share: nullable,
          p: nullable,
          /** slope x the places by which this cell's own runs of the candidate came later, metres: the difference without it is
           * the cell's difference less this */
          faked: nullable,
        }),
      ),
    }),
  ),
  /** battery, mass and exclusions of the configurations flown */
  configurations: z.record(
    z.string(),
    z.strictObject({
      runs: counts,
      /** used runs per pack as declared, and used runs without one */
      batteries: z.record(z.string(), z.int()),
      battery_unknown: z.int(),
      takeoff_mass: z.strictObject({ n: z.int(), mean: nullable, sd: nullable, least: nullable, most: nullable }),
      added_mass: nullable,
      /** declared counterweights' mass together; null where none is declared */
      counterweights_mass: nullable,
      /** mean share of the scored window with valid samples, used runs */
      valid_fraction: z.partialRecord(z.enum(subjects), number),
      /** per code, how many of the filed runs have it */
      checks: z.record(z.string(), z.int()),
    }),
  ),
  /**
   * With a sham, over the places of the family: `balancing` = candidate - sham (what balancing does at the same mass), `mass` =
   * sham - baseline (what the mass alone does). Exploratory: no verdict.
   */
  sham: z.array(
    z.strictObject({
      trajectory: z.string(),
      subject: z.enum(subjects),
      axis: z.enum(cellAxes),
      metric: z.enum(measureIds),
      values: vector,
      runs: z.array(z.string()),
      balancing: contrast,
      mass: contrast,
    }),
  ),
  /**
   * settings of the autopilot that are not the same in all used runs, by name: the values met in each configuration; empty where
   * they agree or the logs keep none
   */
  parameters: z.array(z.strictObject({ name: z.string(), configurations: z.record(z.string(), vector) })),
  findings: z.array(finding),
});

export type Audit = z.infer<typeof auditSchema>;
export type AuditFinding = z.infer<typeof finding>;
export type AuditCode = (typeof auditCodes)[number];
