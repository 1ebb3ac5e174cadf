import * as z from "zod";
import { measureIds } from "../catalogue/measures.ts";
import { axes } from "../foundation/tracks.ts";
import { auditSchema } from "./audit.ts";
import { benchSchema } from "./benchEvaluation.ts";
import { toFlightSchema } from "./benchToFlight.ts";
import { cellSchema } from "./cell.ts";
import { costsSchema } from "./costs.ts";
import { looksPaidSchema } from "./looksPlan.ts";
import { planSchema } from "./plan.ts";
import {
  asPrimary,
  counted,
  kilograms,
  metres,
  metresASecond,
  perAxis,
  plain,
  radians,
  seconds,
} from "./quantities.ts";
import { reasonsSchema } from "./reasons.ts";
import { checkSchema, type errorFigures, type hover, runSchema, type split } from "./runEvaluation.ts";
import { defaultSettings } from "./settings.ts";

/**
 * evaluation.json, schema 3: SI throughout. Other programs rely on these names (DEVELOPERS.md says how to change them).
 * Every number is finite; what is not known is null.
 */

/** Raised where a name or a meaning changes. 3: verdict `doubted`, what checks touch, cells with unit and axes. */
export const evaluationSchemaNumber = 3;

const axisNoise = z.strictObject({
  sd: metres.describe("standard deviation (n - 1)"),
  successive_difference: metres.describe("from differences of neighbouring samples: without slow drift"),
  drift: metresASecond.nullable().describe("steady drift"),
  samples: counted.describe("samples it was taken from"),
});
const bodyNoise = perAxis(metres).nullable();

export const evaluationSchema = z.strictObject({
  schema: z.literal(evaluationSchemaNumber).describe("raised where a name or a meaning changes"),
  title: z.string().describe("the campaign's title"),
  tool: z
    .strictObject({
      name: z.literal("counterpoise").describe("the program"),
      version: z.string().describe("its version"),
      commit: z
        .string()
        .nullable()
        .describe(
          "of its sources, with `+changes` where files differed from it; null where it was built outside git, or not built",
        ),
      parts: z.string().nullable().describe("hash of all that was built; null where it runs from the sources"),
    })
    .describe("the build that wrote the file"),
  inputs: z
    .array(
      z.strictObject({
        path: z.string().describe("from the manifest on"),
        sha256: z.string().describe("of its bytes"),
        bytes: z.int().meta({ unit: "byte" }).describe("its size"),
      }),
    )
    .describe("every file that was read"),
  settings: z
    .strictObject({
      thresholds: z.record(z.string(), plain.meta({ unit: "SI" })).describe("every threshold by its name, SI"),
      primary: z.enum(measureIds).describe("the measure of the verdicts"),
      baseline: z.string().describe("name of the configuration compared with"),
      candidate: z.string().describe("name of the configuration in question"),
      sham: z
        .string()
        .nullable()
        .describe("name of the configuration with the same mass at the centre; null where none is declared"),
      family: z
        .array(
          z.strictObject({
            trajectory: z.string().describe("its name"),
            subject: z.enum(["vehicle", "effector"]).describe("whose errors are judged"),
            axes: z.array(z.enum(axes)).nullable().describe("null: all that the measure has"),
          }),
        )
        .optional()
        .describe("the cells of the family as declared; absent where none are: then all of the primary measure"),
      smallest_difference: z
        .strictObject({
          vehicle: asPrimary.nullable().describe("for the vehicle"),
          effector: asPrimary.nullable().describe("for the effector"),
          arm: asPrimary.nullable().describe("for the arm"),
        })
        .describe("the smallest change that would matter; null where none is declared"),
      tolerance: metres.nullable().describe("of the measure `within`; null where none is declared"),
      configurations: z
        .record(
          z.string(),
          z.strictObject({
            label: z.string().describe("as tables name it"),
            added_mass: kilograms.nullable().describe("what was added to the vehicle"),
            counterweights: z
              .array(
                z.strictObject({
                  mass: kilograms.describe("of one counterweight"),
                  at: z.tuple([metres, metres, metres]).describe("its place in the body frame"),
                }),
              )
              .describe("as declared"),
          }),
        )
        .describe("how the vehicle was built, by name"),
      trajectories: z.record(z.string(), z.string()).describe("what was flown in words, by name"),
      judged_in: z
        .record(
          z.string(),
          z.strictObject({
            axes: z.enum(["world", "heading"]).describe("heading: x forward, y left, z up of each run"),
            apart: radians
              .nullable()
              .describe("largest angle between the headings of its runs; null where none is known"),
            declared: z.boolean().describe("the manifest says so (`judge_in`)"),
          }),
        )
        .describe("axes in which errors are judged, per trajectory"),
      axis_names: z
        .strictObject({
          x: z.string().nullable().describe("of x"),
          y: z.string().nullable().describe("of y"),
          z: z.string().nullable().describe("of z"),
        })
        .describe("what the manifest calls the world's axes; null where it does not"),
      truth: z
        .strictObject({
          vehicle: z.string().describe("of the vehicle"),
          effector: z.string().nullable().describe("of the effector; null without one"),
        })
        .describe("where truth comes from: the motion capture's topic"),
      signals: z
        .record(z.string(), z.record(z.string(), z.string()))
        .describe(
          "per signal: topic, clock, stamp, and what was chosen from the data (`between`, attitude), with the runs where it differs",
        ),
      common_cycles: z
        .record(z.string(), counted.nullable())
        .describe("cycles over which maximum and range are taken, per trajectory"),
      common_hold: z
        .record(z.string(), seconds.nullable())
        .describe("length of hold over which maximum and range are taken, per trajectory"),
    })
    .describe("what the evaluation rests on"),
  fitted: z
    .array(
      z.strictObject({
        what: z.string().describe("what was fitted or applied"),
        on: z.string().describe("on which data"),
        value: z.string().describe("with which value"),
        moved: metres.nullable().describe("how far it moved the result (rms); null where that is not a length"),
      }),
    )
    .describe("everything fitted or applied to the data"),
  noise: z
    .strictObject({
      source: z.enum(["static", "in flight"]).describe("from static captures, or estimated in flight"),
      vehicle: bodyNoise.describe("noise of the vehicle's position"),
      effector: bodyNoise.describe("noise of the effector's position"),
      detail: z
        .strictObject({
          vehicle: perAxis(axisNoise).nullable().describe("of the vehicle"),
          effector: perAxis(axisNoise).nullable().describe("of the effector"),
          captures: z.array(z.string()).describe("paths of the static captures"),
          checks: z.array(checkSchema).describe("what was found wrong in them"),
        })
        .describe("what it was taken from"),
    })
    .nullable()
    .describe("what the capture shows where nothing moves; null where it could not be found"),
  runs: z.array(runSchema).describe("every run of the manifest"),
  cells: z
    .array(cellSchema)
    .describe(
      "the declared family first (trajectories x vehicle, effector x axes, primary measure), then the exploratory cells",
    ),
  further_contrasts: z
    .array(
      z.strictObject({
        baseline: z.string().describe("name of the configuration compared with"),
        candidate: z.string().describe("name of the configuration in question"),
        cells: z.array(cellSchema).describe("of this pair, in the order of `cells`"),
      }),
    )
    .optional()
    .describe(
      "the other pairs that the manifest compares: they share one family with `cells`, which is of settings.candidate against settings.baseline; absent where there is one candidate",
    ),
  looks: z
    .strictObject({
      count: counted.describe("this time included"),
      first: z.string().nullable().describe("ISO 8601, of the first look; null where none is on record"),
      recorded: z.boolean().describe("false where this look could not be written to looks.jsonl"),
      opened: z
        .strictObject({
          at: z.string().describe("ISO 8601"),
          exclusions: counted.describe("runs excluded by hand then"),
          changed: z.array(z.string()).describe("what of set-up, files and exclusions changed since"),
        })
        .optional()
        .describe(
          "when the answer was first seen; not there where no verdict was seen yet, or the first look is of an older version",
        ),
      paid: looksPaidSchema
        .optional()
        .describe("how looks are paid for (`looks` of the manifest); absent where they are counted alone"),
    })
    .describe("how often verdicts on these flights were looked at, each time with something else that they rest on"),
  reasons: reasonsSchema.describe("why the differences are as they are; exploratory, without verdicts"),
  plan: planSchema.describe("what another flight day could show"),
  audit: auditSchema.describe("what else than the counterweights could have made the difference"),
  bench: benchSchema.nullable().describe("the arm on the stand; null where the manifest has no bench"),
  bench_to_flight: toFlightSchema
    .optional()
    .describe("bench and flights side by side; absent where the manifest has no bench"),
  costs: costsSchema
    .nullable()
    .describe("what the mass costs; null where neither thrust, rotors, battery nor a current is known beside the mass"),
});

export type CampaignEvaluation = z.infer<typeof evaluationSchema>;
export type RunEvaluation = z.infer<typeof runSchema>;
export type RunCheck = z.infer<typeof checkSchema>;
export type TrackingFigures = z.infer<typeof errorFigures>;
export type SubjectTracking = NonNullable<RunEvaluation["tracking"]["cycles"]>;
export type HoverFigures = z.infer<typeof hover>;
export type SplitFigures = z.infer<typeof split>;
export type NoiseFigures = CampaignEvaluation["noise"];

/**
 * The evaluation once for each pair that it judges, as one of that pair alone: its baseline, candidate and cells. Whatever says or
 * draws the verdicts of one pair does so for each. The leading pair first; the others are the further ones of each.
 */
export function pairsOf(evaluation: CampaignEvaluation): CampaignEvaluation[] {
  const { further_contrasts: further = [], settings, cells } = evaluation;
  const lead = { baseline: settings.baseline, candidate: settings.candidate, cells };
  return [
    evaluation,
    ...further.map((pair) => ({
      ...evaluation,
      settings: { ...settings, baseline: pair.baseline, candidate: pair.candidate },
      cells: pair.cells,
      further_contrasts: [lead, ...further.filter((other) => other !== pair)],
    })),
  ];
}

/** How many cells share the family error: those of all pairs. */
export function familySizeOf(evaluation: Pick<CampaignEvaluation, "cells" | "further_contrasts">): number {
  const all = [evaluation, ...(evaluation.further_contrasts ?? [])].flatMap(({ cells }) => cells);
  return all.filter(({ in_family }) => in_family).length;
}

/**
 * Whether a run's errors are along the axes in which it moves, forward and left (or backward and right): judged in its heading, or
 * facing along the room's x within the angle from which headings are judged apart. Else one letter means two directions.
 */
export function errorsAlongHeading({ heading }: Pick<RunEvaluation, "heading">): boolean {
  if (heading === null || heading.taken_out !== null) return true;
  return Math.abs(Math.sin(heading.yaw)) <= Math.sin(defaultSettings.headings_apart);
}
