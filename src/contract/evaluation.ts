import * as z from "zod";
import { measureIds } from "../catalogue/measures.ts";
import { checkCodes, touchedParts } from "../foundation/checks.ts";
import { axes, subjects } from "../foundation/signals.ts";
import { auditSchema } from "./audit.ts";
import { cellSchema } from "./cell.ts";
import { planSchema } from "./plan.ts";
import {
  asPrimary,
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
} from "./quantities.ts";
import { reasonsSchema } from "./reasons.ts";
import { allanSchema, budgetSchema, movingSchema, pathSchema, spectrumSchema } from "./runExtras.ts";

/**
 * evaluation.json, schema 3: SI throughout. Other programs rely on these names (DEVELOPERS.md says how to change them).
 * Every number is finite; what is not known is null.
 */

/** Raised where a name or a meaning changes. 3: verdict `doubted`, what checks touch, cells with unit and axes. */
export const evaluationSchemaNumber = 3;

const perSubject = <T extends z.ZodType>(value: T) => z.partialRecord(z.enum(subjects), value);

const evidence = z
  .record(z.string(), z.union([z.string(), plain, z.boolean(), z.null(), z.array(z.union([z.string(), plain]))]))
  .describe("the figures it rests on by name; the name ends in their unit");

const checkSchema = z.strictObject({
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

const errorFigures = z.strictObject({
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
const hover = z.strictObject({
  x: hoverAxis,
  y: hoverAxis,
  z: hoverAxis,
  about_mean: radii.describe("circles about the mean place"),
  about_setpoint: radii.describe("circles about the setpoint"),
});

const harmonic = z.strictObject({
  k: counted.describe("harmonic of the cycle rate: 1, 2, ..."),
  amplitude: metres.describe("of amplitude cos(k theta + phase)"),
  amplitude_se: metres.nullable().describe("its standard error"),
  phase: radians.describe("of amplitude cos(k theta + phase)"),
  phase_se: radians.nullable().describe("its standard error"),
  cos: metres.describe("cosine coefficient"),
  sin: metres.describe("sine coefficient"),
  cov: z
    .tuple([squareMetres, squareMetres, squareMetres])
    .nullable()
    .describe("var(cos), cov(cos, sin), var(sin), from the residual's spectrum near the harmonic"),
});
const split = z.strictObject({
  harmonics: z.array(harmonic).describe("harmonics 1 to 5 of the cycle rate"),
  rms: metres.describe("rms of what is in step with the arm"),
  remaining_rms: metres.describe("rms of what is not; bias^2 + rms^2 + remaining_rms^2 is the error's mean square"),
});

const angle = z.strictObject({
  sd: radians.describe("standard deviation (n - 1)"),
  rms: radians.describe("root mean square"),
});

const runSchema = z.strictObject({
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
    })
    .describe("how often verdicts on these flights were looked at, each time with something else that they rest on"),
  reasons: reasonsSchema.describe("why the differences are as they are; exploratory, without verdicts"),
  plan: planSchema.describe("what another flight day could show"),
  audit: auditSchema.describe("what else than the counterweights could have made the difference"),
  bench: z.null().describe("the arm on the stand; not filled yet"),
  costs: z.null().describe("what the mass costs; not filled yet"),
});

export type CampaignEvaluation = z.infer<typeof evaluationSchema>;
export type RunEvaluation = z.infer<typeof runSchema>;
export type RunCheck = z.infer<typeof checkSchema>;
export type TrackingFigures = z.infer<typeof errorFigures>;
export type SubjectTracking = NonNullable<RunEvaluation["tracking"]["cycles"]>;
export type HoverFigures = z.infer<typeof hover>;
export type SplitFigures = z.infer<typeof split>;
export type NoiseFigures = CampaignEvaluation["noise"];
