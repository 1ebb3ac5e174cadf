import * as z from "zod";
import { measureIds } from "../../catalogue/measures.ts";
import { axes, subjects } from "../../foundation/tracks.ts";
import { evaluationSchema } from "../evaluation.ts";
import { interval, nullable, number, numbers, perAxis } from "./bricks.ts";
import { serviceStateSchema } from "./messages.ts";

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
      /** the manifest has a bench: there is a page of it */
      bench: z.boolean(),
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
      /** what the mass costs, in a sentence ("" where there is none to stand beside the verdicts); null: there is no such page */
      costs: z.string().nullable(),
    })
    .nullable(),
});
export type CampaignAnswer = z.infer<typeof campaignAnswerSchema>;
export type CampaignView = NonNullable<CampaignAnswer["campaign"]>;

const point = z.tuple([number, number, number]);
const path = perAxis(numbers);

/**
 * `GET /api/runs/:id/setup`: where a run took place, in the world of the capture, metres to a tenth of a millimetre. What was
 * not flown, not measured or not commanded is null, or a path without points.
 */
export const setupAnswerSchema = z.strictObject({
  run: z.string(),
  /** where vehicle and tool were from the first sample to the last */
  flown: perAxis(interval).nullable(),
  /** mean of the body point over the hold, or over the cycles where there is no hold */
  hover: point.nullable(),
  /** which way the nose points, radians from the world's x towards y */
  heading: nullable,
  /** mean of the setpoint over the same stretch, and the way it faces; null where it carries no attitude */
  setpoint: point.nullable(),
  heading_commanded: nullable,
  /** arm base at this hover, the vehicle level */
  arm_base: point.nullable(),
  /** the tool over the cycles (the hold where there are none), thinned, and where it was asked to be */
  tool: path,
  command: path,
  /** mean of the tool less mean of its command, metres: an offset that frames may be at fault for; null where blind */
  apart: nullable,
});
export type SetupAnswer = z.infer<typeof setupAnswerSchema>;

/**
 * `GET /api/rig`: what the manifest declares of masses, in the vehicle's body frame, metres and kilograms. Blind, it says not of which
 * configuration: masses are shown because they are checked, and none stands beside a letter or a run.
 */
export const rigAnswerSchema = z.strictObject({
  /** the vehicle's centre of mass without what is compared, declared or summed up from its parts; null where nobody says */
  com: z.strictObject({ at: point, source: z.enum(["declared", "ledger", "moved"]) }).nullable(),
  counterweights: z.array(
    z.strictObject({
      configuration: z.string().nullable(),
      weights: z.array(z.strictObject({ mass: number, at: point })),
    }),
  ),
});
export type RigAnswer = z.infer<typeof rigAnswerSchema>;
