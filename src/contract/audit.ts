import * as z from "zod";
import { auditCodes } from "../catalogue/auditFindings.ts";
import { cellAxes, measureIds } from "../catalogue/measures.ts";
import { subjects } from "../foundation/tracks.ts";
import { asPrimary, counted, interval, kilograms, plain, radians } from "./quantities.ts";

/**
 * What else than the counterweights could have made the difference: the part `audit` of evaluation.json. SI throughout,
 * every number finite, what is not known is null. What was fitted and how often it was looked at stand in `fitted` and
 * `looks`.
 */

const finding = z.strictObject({
  code: z.enum(auditCodes).describe("what was found"),
  severity: z.enum(["note", "doubt"]).describe("note: worth knowing; doubt: a reviewer will ask"),
  message: z.string().describe("the finding in a sentence"),
  evidence: z
    .record(z.string(), z.union([z.string(), plain, z.boolean(), z.null(), z.array(z.union([z.string(), plain]))]))
    .describe("the figures it rests on by name"),
  hint: z.string().describe("what to do about it"),
});

/**
 * Every run that is not used stands in one of three: aborted before excluded by a person before unusable, so that
 * filed = used + aborted + excluded + unusable.
 */
const counts = z.strictObject({
  filed: counted.describe("runs of the manifest: used + aborted + excluded + unusable"),
  used: counted.describe("that enter the comparison"),
  unusable: counted.describe("that their checks rule out"),
  excluded: counted.describe("that a person left out"),
  aborted: counted.describe("that did not end as planned"),
  put_back: counted.describe("by a person's word, whether or not they could be used"),
});

/** One configuration less another, as the verdicts take their difference. */
const contrast = z.strictObject({
  runs: z.tuple([counted, counted]).describe("runs that enter: of the one taken off, of the other"),
  difference: asPrimary.nullable().describe("of the means, or within blocks"),
  se: asPrimary.nullable().describe("its standard error"),
  df: plain.nullable().describe("its degrees of freedom"),
  ci95: interval(asPrimary).nullable().describe("its 95 % interval"),
  p: plain.nullable().describe("two-sided, of this contrast alone"),
});

export const auditSchema = z.strictObject({
  blocks: z
    .array(
      z.strictObject({
        trajectory: z.string().describe("name of the trajectory"),
        block: z.string().nullable().describe("name of the block; null: none declared"),
        configurations: z
          .record(
            z.string(),
            z.strictObject({
              filed: counted.describe("runs of the manifest"),
              used: counted.describe("runs that enter the comparison"),
              heading: radians
                .nullable()
                .describe(
                  "mean heading of the used runs, from the world's x towards y; null where it is not known, or they face all ways",
                ),
            }),
          )
          .describe("by name"),
      }),
    )
    .describe("runs per trajectory, block and configuration"),
  order: z
    .array(
      z.strictObject({
        trajectory: z.string().describe("name of the trajectory"),
        source: z.enum(["started", "log times", "manifest"]).describe("where the order comes from"),
        sequence: z.array(z.string()).describe("configurations of the used runs of the pair in the order flown"),
        runs: z.array(z.string()).describe("their ids"),
        places: z
          .array(counted)
          .describe(
            "place of each of them (1, 2, ...) among all flights of the campaign, other trajectories and unused runs included",
          ),
        later: plain
          .nullable()
          .describe("places by which the candidate was flown later, taken as the verdicts take their difference"),
        faked: plain
          .nullable()
          .describe("share of the error that a steady drift of 2 % a flight would fake: 0.02 x later"),
        drift: z
          .array(
            z.strictObject({
              subject: z.enum(subjects).describe("whose error"),
              axis: z.enum(cellAxes).describe("along which axis"),
              metric: z.enum(measureIds).describe("the measure"),
              slope: asPrimary.describe("per place"),
              slope_ci95: interval(asPrimary).nullable().describe("its 95 % interval"),
              slope_share: plain.nullable().describe("the slope as a share of the mean of the runs"),
              p: plain.nullable().describe("two-sided, of this slope alone"),
              faked: asPrimary
                .nullable()
                .describe(
                  "slope x the places by which this cell's own runs of the candidate came later: the difference without it is the cell's difference less this",
                ),
            }),
          )
          .describe(
            "per cell of the family: drift per run within configurations (and blocks), and the difference it would have faked",
          ),
      }),
    )
    .describe("in which order the pair was flown, per trajectory"),
  configurations: z
    .record(
      z.string(),
      z.strictObject({
        runs: counts.describe("what became of its runs"),
        batteries: z.record(z.string(), counted).describe("used runs per pack as declared"),
        battery_unknown: counted.describe("used runs without a declared pack"),
        takeoff_mass: z
          .strictObject({
            n: counted.describe("runs that declare one"),
            mean: kilograms.nullable().describe("mean"),
            sd: kilograms.nullable().describe("standard deviation (n - 1)"),
            least: kilograms.nullable().describe("the lightest"),
            most: kilograms.nullable().describe("the heaviest"),
          })
          .describe("over its used runs"),
        added_mass: kilograms.nullable().describe("as declared"),
        counterweights_mass: kilograms
          .nullable()
          .describe("declared counterweights' mass together; null where none is declared"),
        valid_fraction: z
          .partialRecord(z.enum(subjects), plain)
          .describe("mean share of the scored window with valid samples, used runs"),
        checks: z.record(z.string(), counted).describe("per code, how many of the filed runs have it"),
      }),
    )
    .describe("battery, mass and exclusions of the configurations flown, by name"),
  sham: z
    .array(
      z.strictObject({
        trajectory: z.string().describe("name of the trajectory"),
        subject: z.enum(subjects).describe("whose error"),
        axis: z.enum(cellAxes).describe("along which axis"),
        metric: z.enum(measureIds).describe("the measure"),
        values: z.array(asPrimary).describe("one value per run of the sham"),
        runs: z.array(z.string()).describe("their ids"),
        balancing: contrast.describe("candidate - sham: what balancing does at the same mass"),
        mass: contrast.describe("sham - baseline: what the mass alone does"),
      }),
    )
    .describe("with a sham, over the places of the family; exploratory, without verdicts"),
  parameters: z
    .array(
      z.strictObject({
        name: z.string().describe("of the setting"),
        configurations: z
          .record(z.string(), z.array(plain.meta({ unit: "that of the setting" })))
          .describe("the values met in each configuration"),
      }),
    )
    .describe(
      "settings of the autopilot that are not the same in all used runs; empty where they agree or the logs keep none",
    ),
  findings: z.array(finding).describe("what a reviewer should know"),
});

export type Audit = z.infer<typeof auditSchema>;
export type AuditFinding = z.infer<typeof finding>;
