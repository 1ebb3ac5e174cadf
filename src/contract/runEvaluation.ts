import * as z from "zod";
import { checkCodes, touchedParts } from "../foundation/checks.ts";
import { axes, subjects } from "../foundation/tracks.ts";
import {
  counted,
  interval,
  kilograms,
  metres,
  metresASecond,
  perAxis,
  plain,
  radians,
  seconds,
  squareMetres,
  squareRadians,
} from "./quantities.ts";
import {
  allanSchema,
  budgetSchema,
  effortSchema,
  movingSchema,
  outputsSchema,
  pathSchema,
  powerSchema,
  spectrumSchema,
} from "./runExtras.ts";

const perSubject = <T extends z.ZodType>(value: T) => z.partialRecord(z.enum(subjects), value);

const evidence = z
  .record(z.string(), z.union([z.string(), plain, z.boolean(), z.null(), z.array(z.union([z.string(), plain]))]))
  .describe("the figures it rests on by name; the name ends in their unit");

export const checkSchema = z.strictObject({
  code: z.enum(checkCodes).describe("what was found, as the table of checks lists it"),
  severity: z
    .enum(["note", "doubt", "unusable"])
    .describe("note: worth knowing; doubt: it can have moved a figure; unusable: the run is not used"),
  message: z.string().describe("the finding in a sentence"),
  evidence,
  hint: z.string().describe("what to do about it"),
  touches: z
    .strictObject({
      subjects: z.array(z.enum(subjects)).describe("whose figures"),
      axes: z.array(z.enum(axes)).describe("along which axes"),
      windows: z.array(z.enum(["cycles", "hold"])).describe("in which window"),
      part: z.enum(touchedParts).describe("which part of the error"),
    })
    .describe("the figures it can have moved"),
  accepted_because: z
    .string()
    .nullable()
    .describe("why a person takes the finding as it is (`accept` of the manifest); null where nobody does"),
});

const clockSchema = z.strictObject({
  offset: seconds.describe("this clock's stamp less the reference clock's of the same instant, at the run's start"),
  offset_se: seconds.nullable().describe("standard error of the offset; null where it was declared"),
  skew: plain.describe("growth of the offset per second"),
  skew_se: plain.nullable().describe("standard error of the skew"),
  source: z.string().describe("what the offset comes from, in words"),
  second_peak_ratio: plain
    .nullable()
    .describe("second best agreement over the best: near 1, another offset does as well"),
  ambiguous: z.boolean().describe("two offsets agree too nearly to choose"),
});

export const errorFigures = z.strictObject({
  bias: metres.describe("mean; of the norm, the length of the mean vector"),
  sd: metres.describe("standard deviation (n - 1)"),
  rms: metres.describe("root mean square"),
  mean_abs: metres.describe("mean of the absolute error"),
  p95: metres.describe("95th percentile of the absolute error (type 7)"),
  max_abs: metres.describe("largest absolute error, over the common cycles or the common hold"),
  range: metres.nullable().describe("largest less smallest error, over the same; null of the norm"),
  rms_delay_removed: metres.nullable().describe("rms with the command shifted by `delay`; null without one"),
  per_cycle: z.array(metres.nullable()).describe("rms of each cycle; null where too little of it was seen"),
});
const tracking = perSubject(
  z.strictObject({
    delay: seconds
      .nullable()
      .describe("time by which the motion comes after its command; null where the motion does not say"),
    x: errorFigures,
    y: errorFigures,
    z: errorFigures,
    norm: errorFigures.describe("of the length of the error"),
  }),
);

const hoverAxis = z.strictObject({
  bias: metres.describe("mean error"),
  sd: metres.describe("standard deviation (n - 1)"),
  slope: metresASecond.nullable().describe("steady drift"),
  slope_se: metresASecond.nullable().describe("its standard error, in coloured noise"),
  slope_ci: interval(metresASecond).nullable().describe("its 95 % interval"),
  end_minus_start: metres.nullable().describe("mean of the last second less that of the first"),
  sd_low: metres.nullable().describe("standard deviation of what is slower than the threshold `band_split`"),
  sd_high: metres.nullable().describe("standard deviation of what is faster"),
});
const radii = z.strictObject({
  r50: metres.describe("radius in the horizontal plane that holds half of the samples"),
  r95: metres.describe("radius that holds 95 % of them"),
});
export const hover = z.strictObject({
  x: hoverAxis,
  y: hoverAxis,
  z: hoverAxis,
  about_mean: radii.describe("circles about the mean place"),
  about_setpoint: radii.describe("circles about the setpoint"),
});

const harmonicOf = <T extends z.ZodType>(of: T, square: T) =>
  z.strictObject({
    k: counted.describe("harmonic of the cycle rate: 1, 2, ..."),
    amplitude: of.describe("of amplitude cos(k theta + phase)"),
    amplitude_se: of.nullable().describe("its standard error"),
    phase: radians.describe("of amplitude cos(k theta + phase)"),
    phase_se: radians.nullable().describe("its standard error"),
    cos: of.describe("cosine coefficient"),
    sin: of.describe("sine coefficient"),
    cov: z
      .tuple([square, square, square])
      .nullable()
      .describe("var(cos), cov(cos, sin), var(sin), from the residual's spectrum near the harmonic"),
  });
const harmonic = harmonicOf(metres, squareMetres);
export const split = z.strictObject({
  harmonics: z.array(harmonic).describe("harmonics 1 to 5 of the cycle rate"),
  rms: metres.describe("rms of what is in step with the arm"),
  remaining_rms: metres.describe("rms of what is not; bias^2 + rms^2 + remaining_rms^2 is the error's mean square"),
});

const angle = z.strictObject({
  sd: radians.describe("standard deviation (n - 1)"),
  rms: radians.describe("root mean square"),
  harmonics: z
    .array(harmonicOf(radians, squareRadians))
    .nullable()
    .describe("harmonics 1 to 5 of the cycle rate; null without whole cycles"),
});

/** One run of evaluation.json: what was found in it, and its figures. SI throughout; what is not known is null. */
export const runSchema = z.strictObject({
  id: z.string().describe("the run's name in tables, links and exclusions"),
  log: z.array(z.string()).describe("paths of its logs, from the manifest on"),
  configuration: z.string().describe("name of the configuration flown"),
  trajectory: z.string().describe("name of the trajectory flown"),
  block: z.string().nullable().describe("runs flown under like conditions: a day, a pack; null where none is declared"),
  epoch: z
    .string()
    .nullable()
    .describe("nanoseconds on the reference clock, as text; times of the run are seconds after it"),
  used: z.boolean().describe("it enters the comparison"),
  excluded_because: z.string().nullable().describe("why a person left it out; null where nobody did"),
  put_back_because: z
    .string()
    .nullable()
    .describe(
      "why a person put it back (exclusions.yaml, `include: true`), whether or not it could be used; null where nobody did",
    ),
  outcome: z.enum(["completed", "aborted"]).describe("as the manifest says; an aborted run is counted, never judged"),
  started: z.string().nullable().describe("ISO 8601, as the manifest says"),
  battery: z.string().nullable().describe("name of the pack, as the manifest says"),
  takeoff_mass: kilograms.nullable().describe("as the manifest says"),
  notes: z.string().nullable().describe("as the manifest says"),
  checks: z.array(checkSchema).describe("what was found wrong or worth knowing"),
  clocks: z.record(z.string(), clockSchema).describe("offset and skew of every clock but the reference, by its name"),
  windows: z
    .strictObject({
      hold: interval(seconds)
        .nullable()
        .describe("where the arm rests and the vehicle hovers; null where it never does"),
      cycles: z.array(interval(seconds)).describe("start and end of each whole cycle"),
    })
    .describe("the stretches that are judged, half open, after the run's epoch"),
  heading: z
    .strictObject({
      yaw: radians.describe("from the world's x towards y"),
      source: z.enum(["setpoint", "measured"]).describe("the setpoint's mean yaw, else the measured one"),
      taken_out: radians
        .nullable()
        .describe(
          "yaw by which this run's figures of vehicle and effector are turned, so that x is forward and y left; null: along the world's axes",
        ),
    })
    .nullable()
    .describe("the way the vehicle faces; null where it is not known"),
  period: seconds.nullable().describe("of one cycle, from the command; null where nothing cycles"),
  valid_fraction: perSubject(plain).describe("share of the scored window with valid samples"),
  tracking: z
    .strictObject({
      cycles: tracking.nullable().describe("in the cycle window"),
      hold: tracking.nullable().describe("in the hold window"),
    })
    .describe("measured minus commanded"),
  hold: perSubject(hover).nullable().describe("how the hover drifts and scatters"),
  attitude: z
    .strictObject({
      roll: angle,
      pitch: angle,
      yaw: angle,
      tilt: z
        .strictObject({ rms: radians.describe("root mean square") })
        .describe("the angle between the up axes, whatever the heading"),
    })
    .nullable()
    .describe("attitude against the setpoint's; null where there is none"),
  within: z
    .strictObject({
      cycles: perSubject(plain).nullable().describe("in the cycle window"),
      hold: perSubject(plain).nullable().describe("in the hold window"),
    })
    .nullable()
    .describe(
      "share of the samples no farther from the command than the manifest's `tolerance`; null where it declares none",
    ),
  synchronous: perSubject(perAxis(split)).nullable().describe("the part of the error in step with the arm's cycle"),
  path: pathSchema.nullable().describe("distance from the commanded path, and the figures of ISO 9283:1998"),
  budget: budgetSchema.nullable().describe("what the effector's error is made of"),
  allan: allanSchema.nullable().describe("overlapping Allan deviation of the position in the hold window"),
  spectrum: spectrumSchema.nullable().describe("spectrum of the error, and its coherence with the arm"),
  markers: z
    .partialRecord(
      z.enum(["vehicle", "effector"]),
      z.strictObject({
        markers: z.array(z.string()).describe("labels of the body's markers"),
        frames: counted.describe("frames of the capture"),
        solved: counted.describe("frames in which the body was found"),
        missing: counted.describe("readings of a marker that are missing"),
        modelled: counted.describe("readings that the capture system filled in, left out"),
        residual: metres.describe("rms residual of the fit, as a measure of a marker's noise"),
      }),
    )
    .nullable()
    .describe("bodies solved from markers; null where the capture gives poses"),
  power: powerSchema
    .optional()
    .describe("power in hover; absent where no battery was logged, or the run has no hold window"),
  outputs: outputsSchema
    .optional()
    .describe("output of the motors in hover; absent where none was logged, or the run has no hold window"),
  effort: effortSchema
    .optional()
    .describe("rms of the arm's effort over the cycles, in the log's unit; absent where none was logged"),
  moving: movingSchema
    .nullable()
    .describe(
      "moving moment and apparent moving mass; null where the run gives none, and then `moving_missing` says why",
    ),
  moving_missing: z
    .string()
    .nullable()
    .describe(
      "why there is no moving moment, or none along an axis that the arm travels along; null where nothing is missing",
    ),
});
