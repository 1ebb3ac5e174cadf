import * as z from "zod";
import { measureIds } from "../catalogue/measures.ts";
import { axes } from "../foundation/tracks.ts";
import { forecastMethods } from "./benchToFlight.ts";
import { evaluationSchema } from "./evaluation.ts";
import { looksPlanSchema, paidCellSchema } from "./looksPlan.ts";

const nullable = z.number().nullable();

/** One line of looks.jsonl: what the verdicts rested on when they were looked at. */
export const lookSchema = z.strictObject({
  /** ISO 8601 */
  at: z.iso.datetime(),
  /** version, commit and hash of the build; in older lines the version alone */
  tool: z.string(),
  /** ids of the used runs, sorted */
  used: z.array(z.string()),
  primary: z.enum(measureIds),
  /** metres */
  smallest_difference: z.strictObject({ vehicle: nullable, effector: nullable, arm: nullable }),
  /** file name of the manifest; the three below are not there in lines of older versions */
  manifest: z.string().optional(),
  /** fingerprints of the filed runs' logs, sorted: looks belong to flights, not to a folder */
  flights: z.array(z.string()).optional(),
  /** fingerprint of all that makes another look where it changes */
  grounds: z.string().optional(),
  /**
   * how things stood when the answer was first seen, in the first look at these flights: SHA-256 of the files (manifest and
   * exclusions among them), fingerprints of the set-up by part and of how runs are filed, run ids, exclusions with their reasons
   */
  opening: z
    .strictObject({
      files: z.record(z.string(), z.string()),
      set_up: z.record(z.string(), z.string()),
      filing: z.string(),
      runs: z.array(z.string()),
      excluded: z.record(z.string(), z.string()),
    })
    .optional(),
  /** what the look spent, where looks are paid for: the plan as it was sealed, and every cell of the family */
  paid: looksPlanSchema.extend({ cells: z.array(paidCellSchema) }).optional(),
});
export type Look = z.infer<typeof lookSchema>;

/** A line of looks.jsonl that is no look: what bench and baseline flights said of the candidate's before these were flown. */
export const sealedForecastSchema = z.strictObject({
  /** ISO 8601 */
  at: z.iso.datetime(),
  tool: z.string(),
  manifest: z.string(),
  /** SHA-256 of the forecast's JSON text */
  sha256: z.string(),
  forecast: z.array(
    z.strictObject({
      trajectory: z.string(),
      axis: z.enum(axes),
      method: z.enum(forecastMethods),
      /** metres */
      expected: z.number(),
      prediction: z.tuple([z.number(), z.number()]),
    }),
  ),
});
export type SealedForecast = z.infer<typeof sealedForecastSchema>;

/**
 * What `counterpoise check` finds: everything an evaluation rests on, and nothing that it concludes. Configurations bear
 * letters, and no run says which it is of. No figure of a run's error stands here, for a reader who knows the runs by their
 * names could add them up. SI throughout.
 */

const whole = evaluationSchema.shape;
const run = whole.runs.element.shape;
const { spectrum } = run;

/** A run without its configuration, and without the figures of its error; curves of its own are kept. */
const blindRunSchema = whole.runs.element.extend({
  configuration: z.null(),
  takeoff_mass: z.null(),
  tracking: z.strictObject({ cycles: z.null(), hold: z.null() }),
  hold: z.null(),
  attitude: z.null(),
  synchronous: z.null(),
  path: z.null(),
  budget: z.null(),
  moving: z.null(),
  spectrum,
});
export type BlindRun = z.infer<typeof blindRunSchema>;

export const campaignCheckSchema = z.strictObject({
  check: z.literal(1),
  title: z.string(),
  tool: whole.tool,
  inputs: whole.inputs,
  /** configurations under their letters, without masses; `baseline` is A and `candidate` B, whichever they are */
  settings: whole.settings,
  fitted: whole.fitted,
  noise: whole.noise,
  runs: z.array(blindRunSchema),
  /** of the design: no order run by run, no drift, no sham; masses stand under their letters */
  audit: whole.audit,
  /** trajectories of which the response delays differ between configurations (by how much is not shown) and no clock is confirmed */
  delays_apart: z.array(z.string()),
  /** runs whose id or log holds the name of their own configuration */
  named: z.array(z.string()),
  /** ISO 8601, when the answer was first seen; null: not yet */
  opened: z.string().nullable(),
});
export type CampaignCheck = z.infer<typeof campaignCheckSchema>;
