import * as z from "zod";
import { interval, nullable, number, numbers, perAxis } from "./parts.ts";

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
  counterweights: z.array(
    z.strictObject({
      configuration: z.string().nullable(),
      weights: z.array(z.strictObject({ mass: number, at: point })),
    }),
  ),
});
export type RigAnswer = z.infer<typeof rigAnswerSchema>;
