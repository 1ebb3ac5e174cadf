import * as z from "zod";
import { axes } from "../foundation/signals.ts";
import { benchChannels } from "./benchDeclaration.ts";
import { counted, hertz, interval, kilograms, metres, plain, seconds } from "./quantities.ts";
import { checkSchema } from "./runEvaluation.ts";

/** What can be wrong with a bench, with what it is taken for in the table of the manual (a test compares). */
export const benchCheckCodes = [
  "log-unreadable",
  "does-not-move",
  "few-cycles",
  "no-tare",
  "one-tare",
  "one-sample-tare",
  "drift",
  "saturated",
  "over-scale",
  "constant-channel",
  "sequence-gap",
  "gap",
  "status",
  "jitter",
  "counts",
  "copied",
  "wrong-trajectory",
  "period",
  "clocks-apart",
  "clocks-joined",
  "known-mass",
  "lever",
  "sign",
  "closure",
  "phase",
  "turned",
  "stroke-uneven",
  "loose-mount",
  "cross-talk",
  "resonance",
  "resonance-apart",
  "aliasing",
] as const;
export type BenchCheckCode = (typeof benchCheckCodes)[number];

const byChannel = "N; of moments N m";
const ofChannel = z.number().meta({ unit: byChannel });
const perTravel = z.number().meta({ unit: "N" });

export const benchCheckSchema = z.strictObject({
  code: z.enum(benchCheckCodes).describe("what was found"),
  severity: checkSchema.shape.severity,
  message: z.string().describe("the finding in a sentence"),
  evidence: checkSchema.shape.evidence,
  hint: z.string().describe("what to do about it"),
});
export type BenchCheck = z.infer<typeof benchCheckSchema>;

const harmonic = z.strictObject({
  k: counted.describe("multiple of the cycle rate"),
  cos: ofChannel.describe("coefficient of cos k theta"),
  sin: ofChannel.describe("coefficient of sin k theta"),
  cov: z
    .tuple([ofChannel, ofChannel, ofChannel])
    .describe("[var cos, cov, var sin], squares, from the residual's density beside the harmonic"),
});

const channel = z.strictObject({
  mean: ofChannel.describe("over the cycles, tared"),
  drift: z.number().meta({ unit: "N/s; of moments N m/s" }).describe("straight line over the cycles"),
  harmonics: z.array(harmonic),
  rms: z
    .strictObject({
      cycle: ofChannel.describe("harmonics of the cycle rate, the noise's share taken out"),
      full: ofChannel.describe("everything up to half the rate of the readings"),
    })
    .describe("about mean and drift, each with its band"),
  peak: ofChannel.nullable().describe("largest size about mean and drift, over the common cycles"),
  peak_to_peak: ofChannel.nullable().describe("over the same"),
});

const vector = z.tuple([metres, metres]);

export const benchRunSchema = z.strictObject({
  id: z.string(),
  log: z.string().describe("path or paths, as the manifest has it"),
  configuration: z.string(),
  trajectory: z.string(),
  speed: hertz.nullable().describe("cycle rate as filed; null where it was not"),
  speed_label: z.string().nullable().describe("as it was filed"),
  refit: z.string().nullable().describe("which mounting of the arm"),
  period: seconds.nullable().describe("of one cycle, measured"),
  cycles: counted.describe("whole cycles that it rests on"),
  used: z.boolean().describe("whether it enters the cells"),
  excluded_because: z.string().nullable(),
  checks: z.array(benchCheckSchema),
  travel: z
    .strictObject({ x: vector, y: vector, z: vector })
    .nullable()
    .describe("first harmonic of the control point in the arm base: real and imaginary part"),
  channels: z
    .record(z.enum(benchChannels), channel)
    .nullable()
    .describe("wrench that the arm exerts on its base, axes of the arm base, about `bench.point`"),
  resultant: z
    .strictObject({
      force: z.strictObject({ cycle: ofChannel, full: ofChannel }),
      moment: z.strictObject({ cycle: ofChannel, full: ofChannel }),
    })
    .nullable()
    .describe("rms of all three axes together, by band"),
  apparent_mass: z
    .partialRecord(
      z.enum(axes),
      z.strictObject({ k: counted, re: kilograms, im: kilograms, se: kilograms.describe("of each part") }),
    )
    .nullable()
    .describe("first harmonic of force over (2 pi rate)^2 travel, along the axes that the arm travels"),
});

const side = z.strictObject({
  n: counted,
  mean: z.number().meta({ unit: "as `unit` says" }),
  sd: z.number().nullable().meta({ unit: "as `unit` says" }),
});

export const benchVerdicts = [
  "reduced",
  "increased",
  "within the noise",
  "too few refits",
  "cross-talk",
  "doubted",
] as const;

export const benchCellSchema = z.strictObject({
  trajectory: z.string(),
  speed: hertz.nullable(),
  speed_label: z.string().nullable(),
  channel: z.enum(benchChannels),
  harmonic: z
    .union([counted, z.enum(["cycle", "full"])])
    .describe("1: real part of the first harmonic over travel; `cycle`, `full`: rms of that band"),
  unit: z.enum(["kg", "N", "N m"]).describe("of the sides' means; N for moments over travel"),
  baseline: side,
  candidate: side,
  reduction: plain.nullable().describe("1 less candidate over baseline; above 1: over-balanced"),
  ci95: interval(plain).nullable().describe("Fieller, paired over refits; null where unbounded"),
  method: z.enum(["paired", "welch"]),
  refits: counted,
  p: plain.nullable(),
  p_family: plain.nullable().describe("Holm over the bench's own family; null outside of it"),
  verdict: z.enum(benchVerdicts).nullable().describe("null outside the family"),
  doubts: z.array(z.enum(benchCheckCodes)),
});

const withInterval = <T extends z.ZodType>(value: T) => z.strictObject({ value, ci95: interval(value).nullable() });

export const benchSchema = z.strictObject({
  checks: z.array(benchCheckSchema).describe("of the bench as a whole"),
  sensor: z.strictObject({
    at: z.strictObject({
      translation: z.tuple([metres, metres, metres]),
      rotation: z.tuple([plain, plain, plain, plain]),
    }),
    sign: z.enum(["on_sensor", "on_arm"]),
    filter: z.string(),
    calibrated: z.string().nullable(),
  }),
  point: z.strictObject({ name: z.string(), at: z.tuple([metres, metres, metres]).describe("in the arm base") }),
  resonance: z.array(
    z.strictObject({ configuration: z.string(), axis: z.enum(axes), frequency: hertz, damping: plain }),
  ),
  runs: z.array(benchRunSchema),
  cells: z.array(benchCellSchema),
  moving: z
    .array(
      z.strictObject({
        trajectory: z.string(),
        axis: z.enum(axes),
        configuration: z.string(),
        from: z.enum(["force", "gravity moment"]),
        refits: counted,
        value: kilograms,
        ci95: interval(kilograms).nullable(),
        imaginary: kilograms.nullable(),
        expected: kilograms.nullable().describe("from the mass ledger"),
      }),
    )
    .describe("apparent moving mass by configuration, from force and from gravity's moment"),
  growth: z.array(
    z.strictObject({
      trajectory: z.string(),
      channel: z.enum(benchChannels),
      configuration: z.string(),
      exponent: plain.nullable().describe("of the force over travel with the rate, to be held against 2"),
      ci95: interval(plain).nullable(),
      df: counted.nullable(),
      gravity: withInterval(perTravel).nullable().describe("of a moment over travel: what stays at rate 0"),
      inertial: withInterval(z.number().meta({ unit: "kg m" }))
        .nullable()
        .describe("of a moment over travel: what grows with (2 pi rate)^2"),
    }),
  ),
  closure: z
    .array(
      z.strictObject({
        configuration: z.string(),
        trajectory: z.string(),
        channel: z.enum(benchChannels),
        ratio: plain.nullable(),
        ci95: interval(plain).nullable(),
        tolerance: plain,
      }),
    )
    .describe("gravity's moment over what the force says of it: 1 where force and moment agree"),
  unchecked: z.array(z.string()).describe("what was not held against anything"),
  settings: z.record(z.string(), plain),
});

export type BenchEvaluation = z.infer<typeof benchSchema>;
export type BenchRunEvaluation = z.infer<typeof benchRunSchema>;
export type BenchCell = z.infer<typeof benchCellSchema>;
