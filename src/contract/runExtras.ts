import * as z from "zod";
import { axes, subjects } from "../foundation/signals.ts";

/**
 * Schema of a column of finite numbers. One check for the column: a schema for each of its numbers, of which an evaluation has
 * tens of thousands, would take longer than the statistics that they come from.
 */
export const numberColumn = z.custom<number[]>((value) => Array.isArray(value) && wrongPlace(value) < 0, {
  error: ({ input }) => {
    if (!Array.isArray(input)) return `found ${inWords(input)}, expected an array of numbers`;
    const at = wrongPlace(input);
    return `found ${inWords(input[at])} at index ${at}, expected a finite number`;
  },
});

function inWords(value: unknown): string {
  if (Array.isArray(value)) return "an array";
  if (typeof value === "object" && value !== null) return "an object";
  return typeof value === "string" ? JSON.stringify(value) : String(value);
}

/** Index of the first value that is no finite number; -1 where there is none. */
function wrongPlace(values: readonly unknown[]): number {
  for (let i = 0; i < values.length; i++) if (!Number.isFinite(values[i])) return i;
  return -1;
}

/**
 * What explains a run's error: the parts `path`, `budget`, `allan` and `spectrum` of a run in evaluation.json. SI
 * throughout, every number finite, what is not known is null. Columns of curves are rounded to five digits.
 */

const number = z.number();
const nullable = z.number().nullable();
const column = numberColumn;
const perAxis = <T extends z.ZodType>(value: T) => z.strictObject({ x: value, y: value, z: value });
const perSubject = <T extends z.ZodType>(value: T) => z.partialRecord(z.enum(subjects), value);

/** Per subject whose command moves: distance from the commanded path, and the figures of ISO 9283:1998. */
export const pathSchema = perSubject(
  z.strictObject({
    /** cycles measured, the settling ones left out; the standard has 10 */
    cycles: z.int(),
    cycles_left_out: z.int(),
    /** how far in time the path was searched, seconds */
    window: number,
    contour: z.strictObject({
      rms: number,
      mean: number,
      p95: number,
      max: number,
      x: number,
      y: number,
      z: number,
      /** median time by which the motion comes after its command along the path, seconds */
      behind: number,
      /** share of samples nearest to the end of what was searched */
      edge_share: number,
    }),
    /** AT_p and RT_p, metres; null where no point of the path was reached in every cycle */
    accuracy: nullable,
    repeatability: nullable,
    /** points reached in every cycle, of those looked at */
    points: z.int(),
    points_of: z.int(),
    /** AV and RV as ratios (0.01: one per cent), FV in m/s, and the mean commanded speed that AV and RV are ratios to, m/s */
    velocity: z
      .strictObject({ accuracy: number, repeatability: nullable, fluctuation: number, commanded: number })
      .nullable(),
  }),
);

const parts = z.strictObject({ vehicle: number, attitude: number, arm: number });
const budgetFigures = z.strictObject({
  rms: number,
  /** root mean square of each part, metres */
  parts,
  /** mean(part total) / mean(total^2); they add up to 1 */
  shares: parts.nullable(),
});
const axisSensitivity = z.strictObject({
  /** growth of rms and of sd per metre or radian, one per parameter */
  rms: column,
  sd: column,
  /**
   * means over the samples of (error, change per parameter), and of their products (upper triangle, row by row): with
   * d = (1, shift of each parameter) the mean square of the error so shifted is d' products d
   */
  means: column,
  products: column,
  /** first-order change, metres: every parameter off at once at its worst, and in quadrature */
  worst: number,
  quadrature: number,
  worst_sd: number,
  quadrature_sd: number,
  /** least and greatest rms with every parameter anywhere within its uncertainty */
  rms_within: z.tuple([number, number]),
});

/** Error budget of the effector in the cycle window (hold window where there are no cycles). */
export const budgetSchema = z.strictObject({
  window: z.enum(["cycles", "hold"]),
  samples: z.int(),
  x: budgetFigures,
  y: budgetFigures,
  z: budgetFigures,
  norm: budgetFigures,
  sensitivity: z.strictObject({
    uncertainty: z.strictObject({ length: number, angle: number }),
    /** such as `tool_point.x`, `arm_base_turn.z`: vehicle axes; in the order of the columns */
    parameters: z.array(z.string()),
    x: axisSensitivity,
    y: axisSensitivity,
    z: axisSensitivity,
  }),
});

const allanAxis = z.strictObject({ deviation: column, low: column, high: column });

/** Overlapping Allan deviation of the position in the hold window, per subject and axis. */
export const allanSchema = perSubject(
  z.strictObject({ tau: column, x: allanAxis, y: allanAxis, z: allanAxis, level: number }),
);

const lines = perAxis(nullable);

/** Spectrum of the error in the cycle window (hold window where there are no cycles), and its coherence with the arm. */
export const spectrumSchema = z.strictObject({
  window: z.enum(["cycles", "hold"]),
  subjects: perSubject(
    z.strictObject({
      taper: z.literal("hann"),
      overlap: number,
      /** seconds */
      segment: number,
      segments: z.int(),
      /** equivalent noise bandwidth, Hz: a sine of amplitude a stands a^2 / (2 bandwidth) high */
      bandwidth: number,
      degrees_of_freedom: number,
      /** the true density lies between these multiples of the one found, bin by bin */
      factors: z.tuple([number, number]),
      /** Hz, and square metres per hertz; thinned, the peaks kept */
      frequency: column,
      x: column,
      y: column,
      z: column,
      /** the cycle's harmonics: where they stand, and their amplitude from the synchronous split, metres */
      harmonics: z.array(z.strictObject({ k: z.int(), frequency: number, amplitude: lines })),
    }),
  ),
  /** of the vehicle's error with the arm's measured motion along the axis it moves most */
  coherence: z
    .strictObject({
      arm_axis: z.enum(axes),
      segments: z.int(),
      segment: number,
      significance: number,
      level: number,
      frequency: column,
      x: column,
      y: column,
      z: column,
      harmonics: z.array(z.strictObject({ k: z.int(), frequency: number, x: number, y: number, z: number })),
    })
    .nullable(),
});

export type PathEvaluation = z.infer<typeof pathSchema>;
export type BudgetEvaluation = z.infer<typeof budgetSchema>;
export type AllanEvaluation = z.infer<typeof allanSchema>;
export type SpectrumEvaluation = z.infer<typeof spectrumSchema>;

/** All four; a part is null where the run does not give it. */
export const runExtrasSchema = z.strictObject({
  path: pathSchema.nullable(),
  budget: budgetSchema.nullable(),
  allan: allanSchema.nullable(),
  spectrum: spectrumSchema.nullable(),
});
export type RunExtras = z.infer<typeof runExtrasSchema>;
