import * as z from "zod";
import { measureIds } from "../catalogue/measures.ts";
import { checkCodes, touchedParts } from "../foundation/checks.ts";
import { axes, subjects } from "../foundation/signals.ts";
import { auditSchema } from "./audit.ts";
import { cellSchema } from "./cell.ts";
import { planSchema } from "./plan.ts";
import { reasonsSchema } from "./reasons.ts";
import { allanSchema, budgetSchema, pathSchema, spectrumSchema } from "./runExtras.ts";

/**
 * evaluation.json, schema 3: SI throughout. Other programs rely on these names (DEVELOPERS.md says how to change them).
 * Every number is finite; what is not known is null.
 */

/** Raised where a name or a meaning changes. 3: verdict `doubted`, what checks touch, cells with unit and axes. */
export const evaluationSchemaNumber = 3;

const number = z.number();
const nullable = z.number().nullable();
const interval = z.tuple([number, number]);
const perAxis = <T extends z.ZodType>(value: T) => z.strictObject({ x: value, y: value, z: value });
const perSubject = <T extends z.ZodType>(value: T) => z.partialRecord(z.enum(subjects), value);

const checkSchema = z.strictObject({
  code: z.enum(checkCodes),
  severity: z.enum(["note", "doubt", "unusable"]),
  message: z.string(),
  evidence: z.record(
    z.string(),
    z.union([z.string(), number, z.boolean(), z.null(), z.array(z.union([z.string(), number]))]),
  ),
  hint: z.string(),
  /** the figures it can have moved */
  touches: z.strictObject({
    subjects: z.array(z.enum(subjects)),
    axes: z.array(z.enum(axes)),
    windows: z.array(z.enum(["cycles", "hold"])),
    part: z.enum(touchedParts),
  }),
  /** why a person takes the finding as it is (`accept` of the manifest); null where nobody does */
  accepted_because: z.string().nullable(),
});

const clockSchema = z.strictObject({
  offset: number,
  offset_se: nullable,
  skew: number,
  skew_se: nullable,
  source: z.string(),
  second_peak_ratio: nullable,
  ambiguous: z.boolean(),
});

const figures = {
  bias: number,
  sd: number,
  rms: number,
  mean_abs: number,
  p95: number,
  max_abs: number,
  range: nullable,
  rms_delay_removed: nullable,
  per_cycle: z.array(nullable),
};
const errorFigures = z.strictObject(figures);
const tracking = perSubject(
  z.strictObject({ delay: nullable, x: errorFigures, y: errorFigures, z: errorFigures, norm: errorFigures }),
);

const hoverAxis = z.strictObject({
  bias: number,
  sd: number,
  slope: nullable,
  slope_se: nullable,
  slope_ci: interval.nullable(),
  end_minus_start: nullable,
  sd_low: nullable,
  sd_high: nullable,
});
const radii = z.strictObject({ r50: number, r95: number });
const hover = z.strictObject({
  x: hoverAxis,
  y: hoverAxis,
  z: hoverAxis,
  about_mean: radii,
  about_setpoint: radii,
});

const harmonic = z.strictObject({
  k: z.int(),
  amplitude: number,
  amplitude_se: nullable,
  phase: number,
  phase_se: nullable,
  cos: number,
  sin: number,
  /** var(cos), cov(cos, sin), var(sin) */
  cov: z.tuple([number, number, number]).nullable(),
});
const split = z.strictObject({ harmonics: z.array(harmonic), rms: number, remaining_rms: number });

const angle = z.strictObject({ sd: number, rms: number });

const runSchema = z.strictObject({
  id: z.string(),
  log: z.array(z.string()),
  configuration: z.string(),
  trajectory: z.string(),
  block: z.string().nullable(),
  /** nanoseconds on the reference clock; times below are seconds after it */
  epoch: z.string().nullable(),
  used: z.boolean(),
  excluded_because: z.string().nullable(),
  /** why a person put it back (exclusions.yaml, `include: true`), whether or not it could be used; null where nobody did */
  put_back_because: z.string().nullable(),
  outcome: z.enum(["completed", "aborted"]),
  started: z.string().nullable(),
  battery: z.string().nullable(),
  takeoff_mass: nullable,
  notes: z.string().nullable(),
  checks: z.array(checkSchema),
  clocks: z.record(z.string(), clockSchema),
  windows: z.strictObject({ hold: interval.nullable(), cycles: z.array(interval) }),
  /**
   * the way the vehicle faces, radians from the world's x towards y: the setpoint's mean yaw, else the measured one; and the yaw by
   * which this run's figures of vehicle and effector are turned, so that x is forward and y left (null: along the world's axes)
   */
  heading: z.strictObject({ yaw: number, source: z.enum(["setpoint", "measured"]), taken_out: nullable }).nullable(),
  /** seconds of one cycle, from the command */
  period: nullable,
  /** share of the scored window with valid samples, per subject */
  valid_fraction: perSubject(number),
  tracking: z.strictObject({ cycles: tracking.nullable(), hold: tracking.nullable() }),
  hold: perSubject(hover).nullable(),
  /** against the setpoint's, radians; `tilt`: the angle between the up axes, whatever the heading */
  attitude: z.strictObject({ roll: angle, pitch: angle, yaw: angle, tilt: z.strictObject({ rms: number }) }).nullable(),
  /** share of the samples no farther from the command than the manifest's `tolerance`; null where it declares none */
  within: z.strictObject({ cycles: perSubject(number).nullable(), hold: perSubject(number).nullable() }).nullable(),
  synchronous: perSubject(perAxis(split)).nullable(),
  path: pathSchema.nullable(),
  budget: budgetSchema.nullable(),
  allan: allanSchema.nullable(),
  spectrum: spectrumSchema.nullable(),
  /** bodies solved from markers: readings left out, and the residual of the fit, metres, as a measure of a marker's noise */
  markers: z
    .partialRecord(
      z.enum(["vehicle", "effector"]),
      z.strictObject({
        markers: z.array(z.string()),
        frames: z.int(),
        solved: z.int(),
        missing: z.int(),
        modelled: z.int(),
        residual: number,
      }),
    )
    .nullable(),
  /** moving moment and apparent moving mass; not filled yet */
  moving: z.null(),
});

const axisNoise = z.strictObject({
  sd: number,
  successive_difference: number,
  drift: nullable,
  samples: z.int(),
});
const bodyNoise = perAxis(number).nullable();

export const evaluationSchema = z.strictObject({
  schema: z.literal(evaluationSchemaNumber),
  title: z.string(),
  /** the build that made it */
  tool: z.strictObject({
    name: z.literal("counterpoise"),
    version: z.string(),
    /** of its sources, with `+changes` where files differed from it; null where it was built outside git, or not built */
    commit: z.string().nullable(),
    /** hash of all that was built; null where it runs from the sources */
    parts: z.string().nullable(),
  }),
  inputs: z.array(z.strictObject({ path: z.string(), sha256: z.string(), bytes: z.int() })),
  settings: z.strictObject({
    thresholds: z.record(z.string(), number),
    primary: z.enum(measureIds),
    baseline: z.string(),
    candidate: z.string(),
    sham: z.string().nullable(),
    /** in the unit of the primary measure */
    smallest_difference: z.strictObject({ vehicle: nullable, effector: nullable, arm: nullable }),
    /** of the measure `within`, metres */
    tolerance: nullable,
    configurations: z.record(
      z.string(),
      z.strictObject({
        label: z.string(),
        added_mass: nullable,
        counterweights: z.array(z.strictObject({ mass: number, at: z.tuple([number, number, number]) })),
      }),
    ),
    trajectories: z.record(z.string(), z.string()),
    /**
     * per trajectory: axes in which errors are judged, whether the manifest says so, and the largest angle between the headings
     * of its runs, radians (null: none is known)
     */
    judged_in: z.record(
      z.string(),
      z.strictObject({ axes: z.enum(["world", "heading"]), apart: nullable, declared: z.boolean() }),
    ),
    /** where truth comes from, per body: the motion capture's topic */
    truth: z.strictObject({ vehicle: z.string(), effector: z.string().nullable() }),
    /** per signal: topic, clock, stamp, and what was chosen from the data (`between`, attitude), with the runs where it differs */
    signals: z.record(z.string(), z.record(z.string(), z.string())),
    /** cycles, and seconds of hold, over which maximum and range are taken, per trajectory */
    common_cycles: z.record(z.string(), z.int().nullable()),
    common_hold: z.record(z.string(), nullable),
  }),
  /** everything fitted or applied to the data: on what, with what value, and how far it moved the result (metres, rms) */
  fitted: z.array(z.strictObject({ what: z.string(), on: z.string(), value: z.string(), moved: nullable })),
  noise: z
    .strictObject({
      source: z.enum(["static", "in flight"]),
      vehicle: bodyNoise,
      effector: bodyNoise,
      detail: z.strictObject({
        vehicle: perAxis(axisNoise).nullable(),
        effector: perAxis(axisNoise).nullable(),
        captures: z.array(z.string()),
        checks: z.array(checkSchema),
      }),
    })
    .nullable(),
  runs: z.array(runSchema),
  /** the declared family first (trajectories x {vehicle, effector} x {x, y, z}, primary metric), then the exploratory cells */
  cells: z.array(cellSchema),
  /** how often verdicts on these flights were looked at, each time with something else that they rest on; this time included */
  looks: z.strictObject({
    count: z.int(),
    /** ISO 8601, of the first look; null where none is on record */
    first: z.string().nullable(),
    /** false where this look could not be written to looks.jsonl */
    recorded: z.boolean(),
    /**
     * when the answer was first seen (ISO 8601), how many runs were excluded by hand then, and what of set-up, files and
     * exclusions changed since; not there where no verdict was seen yet, or the first look is of an older version
     */
    opened: z.strictObject({ at: z.string(), exclusions: z.int(), changed: z.array(z.string()) }).optional(),
  }),
  /** why the differences are as they are: budget, synchronous vectors, remaining imbalance, components of the variance */
  reasons: reasonsSchema,
  /** what another flight day could show */
  plan: planSchema,
  /** what else than the counterweights could have made the difference */
  audit: auditSchema,
  /** the arm on the stand; not filled yet */
  bench: z.null(),
  /** what the mass costs; not filled yet */
  costs: z.null(),
});

export type CampaignEvaluation = z.infer<typeof evaluationSchema>;
export type RunEvaluation = z.infer<typeof runSchema>;
export type RunCheck = z.infer<typeof checkSchema>;
export type TrackingFigures = z.infer<typeof errorFigures>;
export type SubjectTracking = NonNullable<RunEvaluation["tracking"]["cycles"]>;
export type HoverFigures = z.infer<typeof hover>;
export type SplitFigures = z.infer<typeof split>;
export type NoiseFigures = CampaignEvaluation["noise"];
