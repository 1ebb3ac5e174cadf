import * as z from "zod";
import { axes, subjects } from "../foundation/tracks.ts";
import {
  counted,
  hertz,
  kilograms,
  metres,
  metresASecond,
  moments,
  perAxis,
  plain,
  radians,
  seconds,
  squareKilograms,
  squareMetres,
} from "./quantities.ts";

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

/** A column of a curve. */
const column = (unit: string) =>
  numberColumn.meta({ type: "array", items: { type: "number", unit } as Record<string, unknown>, unit });
const perSubject = <T extends z.ZodType>(value: T) => z.partialRecord(z.enum(subjects), value);

/** Per subject whose command moves: distance from the commanded path, and the figures of ISO 9283:1998. */
export const pathSchema = perSubject(
  z.strictObject({
    cycles: counted.describe("cycles measured, the settling ones left out; the standard has 10"),
    cycles_left_out: counted.describe("settling cycles"),
    window: seconds.describe("how far in time the path was searched"),
    contour: z
      .strictObject({
        rms: metres.describe("root mean square of the distance"),
        mean: metres.describe("mean distance"),
        p95: metres.describe("95th percentile of the distance"),
        max: metres.describe("largest distance"),
        x: metres.describe("rms of its part along x"),
        y: metres.describe("rms of its part along y"),
        z: metres.describe("rms of its part along z"),
        behind: seconds.describe("median time by which the motion comes after its command along the path"),
        edge_share: plain.describe("share of samples nearest to the end of what was searched"),
      })
      .describe("distance from the commanded path, whatever the timing"),
    accuracy: metres.nullable().describe("AT_p; null where no point of the path was reached in every cycle"),
    repeatability: metres.nullable().describe("RT_p; null likewise"),
    points: counted.describe("points reached in every cycle"),
    points_of: counted.describe("points looked at"),
    velocity: z
      .strictObject({
        accuracy: plain.describe("AV as a ratio: 0.01 is one per cent"),
        repeatability: plain.nullable().describe("RV as a ratio"),
        fluctuation: metresASecond.describe("FV"),
        commanded: metresASecond.describe("mean commanded speed that AV and RV are ratios to"),
      })
      .nullable()
      .describe("path velocity"),
  }),
);

const parts = (unit: string) => {
  const part = plain.meta({ unit });
  return z.strictObject({
    vehicle: part.describe("the vehicle's own translation"),
    attitude: part.describe("its attitude, by the lever arm"),
    arm: part.describe("the arm's own error"),
  });
};
export const budgetFigures = z.strictObject({
  rms: metres.describe("of the whole error"),
  parts: parts("m").describe("root mean square of each part"),
  shares: parts("1")
    .nullable()
    .describe("mean(part total) / mean(total^2); they add up to 1; null where nothing moves"),
});
/** By how much tool point and arm base may be off. */
export const uncertainty = z.strictObject({
  length: metres.describe("of their places"),
  angle: radians.describe("of their turns"),
});
const axisSensitivity = z.strictObject({
  rms: column("m per m or rad").describe("growth of rms per metre or radian, one per parameter"),
  sd: column("m per m or rad").describe("growth of sd per metre or radian, one per parameter"),
  means: column("SI").describe("means over the samples of (error, change per parameter)"),
  products: column("SI").describe(
    "and of their products (upper triangle, row by row): with d = (1, shift of each parameter) the mean square of the error so shifted is d' products d",
  ),
  worst: metres.describe("first-order change of rms, every parameter off at once at its worst"),
  quadrature: metres.describe("the same in quadrature"),
  worst_sd: metres.describe("first-order change of sd, every parameter off at once at its worst"),
  quadrature_sd: metres.describe("the same in quadrature"),
  rms_within: z
    .tuple([metres, metres])
    .describe("least and greatest rms with every parameter anywhere within its uncertainty"),
});

/** Error budget of the effector in the cycle window (hold window where there are no cycles). */
export const budgetSchema = z.strictObject({
  window: z.enum(["cycles", "hold"]).describe("the window it is taken from"),
  samples: counted.describe("samples it is taken from"),
  x: budgetFigures,
  y: budgetFigures,
  z: budgetFigures,
  norm: budgetFigures.describe("of all axes together"),
  sensitivity: z
    .strictObject({
      uncertainty: uncertainty.describe("by how much tool point and arm base may be off"),
      parameters: z
        .array(z.string())
        .describe("such as `tool_point.x`, `arm_base_turn.z`: vehicle axes; in the order of the columns"),
      x: axisSensitivity,
      y: axisSensitivity,
      z: axisSensitivity,
    })
    .describe("what an unsure tool point and arm base do to it"),
});

const allanAxis = z.strictObject({
  deviation: column("m").describe("Allan deviation at each tau"),
  low: column("m").describe("lower end of its interval"),
  high: column("m").describe("upper end of its interval"),
});

/** Overlapping Allan deviation of the position in the hold window, per subject and axis. */
export const allanSchema = perSubject(
  z.strictObject({
    tau: column("s").describe("averaging times"),
    x: allanAxis,
    y: allanAxis,
    z: allanAxis,
    level: plain.describe("level of the intervals"),
  }),
);

const density = (what: string) => column("m^2/Hz").describe(what);

/** Spectrum of the error in the cycle window (hold window where there are no cycles), and its coherence with the arm. */
export const spectrumSchema = z.strictObject({
  window: z.enum(["cycles", "hold"]).describe("the window it is taken from"),
  subjects: perSubject(
    z.strictObject({
      taper: z.literal("hann").describe("taper of each segment"),
      overlap: plain.describe("of neighbouring segments"),
      segment: seconds.describe("length of a segment"),
      segments: counted.describe("segments averaged"),
      bandwidth: hertz.describe("equivalent noise bandwidth: a sine of amplitude a stands a^2 / (2 bandwidth) high"),
      degrees_of_freedom: plain.describe("of each density"),
      factors: z
        .tuple([plain, plain])
        .describe("the true density lies between these multiples of the one found, bin by bin"),
      frequency: column("Hz").describe("of each density; thinned, the peaks kept"),
      x: density("density along x"),
      y: density("density along y"),
      z: density("density along z"),
      harmonics: z
        .array(
          z.strictObject({
            k: counted.describe("harmonic of the cycle rate"),
            frequency: hertz.describe("where it stands"),
            amplitude: perAxis(metres.nullable()).describe("from the synchronous split"),
          }),
        )
        .describe("the cycle's harmonics"),
    }),
  ).describe("density of each subject's error"),
  coherence: z
    .strictObject({
      arm_axis: z.enum(axes).describe("the axis along which the arm moves most"),
      segments: counted.describe("segments averaged"),
      segment: seconds.describe("length of a segment"),
      significance: plain.describe("coherence that unrelated signals exceed in a share 1 - level of the bins"),
      level: plain.describe("the level of that"),
      frequency: column("Hz").describe("of each coherence"),
      x: column("1").describe("coherence of the error along x"),
      y: column("1").describe("coherence of the error along y"),
      z: column("1").describe("coherence of the error along z"),
      harmonics: z
        .array(
          z.strictObject({
            k: counted.describe("harmonic of the cycle rate"),
            frequency: hertz.describe("where it stands"),
            x: plain.describe("coherence along x"),
            y: plain.describe("coherence along y"),
            z: plain.describe("coherence along z"),
          }),
        )
        .describe("at the cycle's harmonics"),
    })
    .nullable()
    .describe("of the vehicle's error with the arm's measured motion along the axis it moves most"),
});

export type PathEvaluation = z.infer<typeof pathSchema>;
export type BudgetEvaluation = z.infer<typeof budgetSchema>;
export type AllanEvaluation = z.infer<typeof allanSchema>;
export type SpectrumEvaluation = z.infer<typeof spectrumSchema>;

/** A phasor a - i b of a cos(k theta) + b sin(k theta): real part, imaginary part. */
const phasor = <T extends z.ZodType>(of: T) => z.tuple([of, of]);
const movingHarmonic = z.strictObject({
  k: counted.describe("harmonic of the cycle rate"),
  travel: phasor(metres).describe("of the control point in the body: real and imaginary part"),
  travel_variance: squareMetres
    .nullable()
    .optional()
    .describe("variance of its real and imaginary part, each; absent in older files"),
  tilt: phasor(plain).describe("horizontal part of the thrust's direction over its vertical part"),
  tilt_variance: plain
    .nullable()
    .optional()
    .describe("variance of its real and imaginary part, each; absent in older files"),
  moment: phasor(moments).nullable().describe("moving moment; null where the take-off mass is not known"),
  apparent_mass: phasor(kilograms)
    .nullable()
    .describe("apparent moving mass: moving moment over travel; null where the take-off mass is not known"),
  cov: z
    .tuple([phasor(squareKilograms), phasor(squareKilograms)])
    .nullable()
    .describe("covariance of its real and imaginary part"),
  share: phasor(plain).describe("apparent moving mass over the mass of the whole"),
  share_variance: plain.nullable().describe("variance of its real and imaginary part, each"),
});

/** Where the centre of mass of the whole was taken to be. */
export const comSources = ["declared", "ledger", "moved", "body_point"] as const;

/** Moving moment and apparent moving mass along the vehicle's horizontal axes; along z it would need the thrust. */
export const movingSchema = z.strictObject({
  x: z.array(movingHarmonic).optional().describe("forward; left out where the arm does not travel along it"),
  y: z.array(movingHarmonic).optional().describe("left; left out where the arm does not travel along it"),
  cycles: counted.describe("whole cycles in a row that it rests on"),
  mass: kilograms.nullable().describe("of the whole; null where it is not known"),
  com: z
    .strictObject({
      at: z.tuple([metres, metres, metres]).describe("in the vehicle's marker frame"),
      source: z
        .enum(comSources)
        .describe("declared; summed from the ledger; declared and moved by the counterweights; or the body point"),
    })
    .describe("centre of mass of the whole with the arm at its mean posture"),
});

/** What the battery gave in the hold window. */
export const powerSchema = z.strictObject({
  mean: plain.meta({ unit: "W" }).nullable().describe("mean of volts times amperes; null where `why` says why"),
  why: z.string().nullable().describe("why there is none; null where there is one"),
  voltage: plain.meta({ unit: "V" }).nullable().describe("mean, under the load of the hover"),
  highest: plain
    .meta({ unit: "V" })
    .nullable()
    .describe("that one reading in a hundred of the whole log exceeds: the highest without stray readings"),
  current: plain
    .meta({ unit: "A" })
    .nullable()
    .describe("mean, positive when the battery gives it, whatever sign the log has"),
  samples: counted.describe("readings in the window"),
});

/** What the motors were given in the hold window. */
export const outputsSchema = z.strictObject({
  mean: plain.describe("over the motors, as a share of full"),
  highest: plain.describe("of the motor that is given most"),
  channels: counted.describe("motors"),
});

export const effortSchema = plain.meta({ unit: "as logged" });

/** All of them; a part is null where the run does not give it. */
export const runExtrasSchema = z.strictObject({
  path: pathSchema.nullable(),
  budget: budgetSchema.nullable(),
  allan: allanSchema.nullable(),
  spectrum: spectrumSchema.nullable(),
  moving: movingSchema.nullable(),
  /** why there is none, or none along an axis that the arm travels along; null where nothing is missing */
  moving_missing: z.string().nullable(),
  power: powerSchema.optional(),
  outputs: outputsSchema.optional(),
  effort: effortSchema.optional(),
});
export type MovingEvaluation = z.infer<typeof movingSchema>;
export type RunExtras = z.infer<typeof runExtrasSchema>;
