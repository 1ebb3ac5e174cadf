import * as z from "zod";
import { measureIds } from "../../catalogue/measures.ts";
import { axes, subjects } from "../../foundation/signals.ts";
import { evaluationSchema } from "../evaluation.ts";
import { nullable, perAxis } from "./parts.ts";
import { serviceStateSchema } from "./serviceState.ts";

const settings = evaluationSchema.shape.settings.shape;

/** A trajectory as declared, for axis labels and the plane of its path; lengths in metres, times in seconds. */
const trajectorySchema = z.strictObject({
  name: z.string(),
  /** in words, millimetres and seconds */
  text: z.string(),
  shape: z.enum(["circle", "line", "hold", "logged"]),
  /** of a circle, in the command's frame */
  plane: z.enum(["xy", "yz", "xz"]).nullable(),
  /** of a line, in the command's frame */
  axis: z.enum(axes).nullable(),
  radius: nullable,
  stroke: nullable,
  period: nullable,
  cycles: nullable,
  duration: nullable,
});

const configurationSchema = z.strictObject({
  name: z.string(),
  label: z.string(),
  role: z.enum(["baseline", "candidate", "sham", "other"]),
  added_mass: nullable,
  counterweights: settings.configurations.valueType.shape.counterweights,
  /** runs declared, and runs that count */
  runs: z.int(),
  used: z.int(),
});

/** `GET /api/campaign`: all that the first screen needs beside the cells. */
export const campaignAnswerSchema = z.strictObject({
  state: serviceStateSchema,
  /** as served; null until a first evaluation has succeeded */
  campaign: z
    .strictObject({
      title: z.string(),
      /** file name of the manifest, without its folder */
      manifest: z.string(),
      tool: evaluationSchema.shape.tool,
      /** configurations bear letters, nothing compares them, and there are no cells, reasons or plans */
      blind: z.boolean(),
      /** the answer in words, most important first; made from the cells, never claims more than they do. Blind: what a check says first */
      answer: z.array(z.string()),
      baseline: z.string(),
      candidate: z.string(),
      sham: z.string().nullable(),
      configurations: z.array(configurationSchema),
      trajectories: z.array(trajectorySchema),
      /** the subjects this campaign has, in the order of the board */
      subjects: z.array(z.enum(subjects)),
      /** blocks in the order in which they were first flown */
      blocks: z.array(z.string()),
      primary: z.enum(measureIds),
      /** the metrics of which there are cells */
      metrics: z.array(z.enum(measureIds)),
      /** how many cells share the family error */
      family: z.int(),
      /** the manifest names these cells; else all of the primary measure share it */
      family_declared: z.boolean(),
      smallest_difference: settings.smallest_difference,
      thresholds: settings.thresholds,
      truth: settings.truth,
      axis_names: settings.axis_names,
      signals: settings.signals,
      judged_in: settings.judged_in,
      common_cycles: settings.common_cycles,
      common_hold: settings.common_hold,
      fitted: evaluationSchema.shape.fitted,
      noise: z
        .strictObject({
          source: z.enum(["static", "in flight"]),
          /** sd per axis, metres; of `arm` both bodies' together */
          vehicle: perAxis(nullable),
          effector: perAxis(nullable),
          arm: perAxis(nullable),
        })
        .nullable(),
      looks: evaluationSchema.shape.looks,
    })
    .nullable(),
});
export type CampaignAnswer = z.infer<typeof campaignAnswerSchema>;
export type CampaignView = NonNullable<CampaignAnswer["campaign"]>;
