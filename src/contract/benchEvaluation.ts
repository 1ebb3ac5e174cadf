import * as z from "zod";
import { axes } from "../foundation/tracks.ts";
import { benchChannels } from "./benchDeclaration.ts";
import { counted, hertz, interval, kilograms, metres, plain, seconds } from "./quantities.ts";
import { checkSchema } from "./runEvaluation.ts";

/** What can be wrong with a bench, with what it is taken for in the table of the manual (a test compares). */
export const benchCheckCodes = [
  "log-unreadable",
  "does-not-move",
  "few-cycles",
  "no-phase",
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
  "temperature-apart",
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
  harmonics: z.array(harmonic).describe("of the cycle rate, the device's filter not taken out"),
  rms: z
    .strictObject({
      cycle: ofChannel.describe("harmonics of the cycle rate, the noise's share taken out"),
      full: ofChannel.describe("everything up to half the rate of the readings"),
    })
    .describe("about mean and drift, each with its band"),
  peak: ofChannel.nullable().describe("largest size about mean and drift, over the common cycles"),
  peak_to_peak: ofChannel.nullable().describe("over the same"),
});

const bands = z.strictObject({
  cycle: ofChannel.describe("harmonics of the cycle rate"),
  full: ofChannel.describe("everything"),
});
const vector = z.tuple([metres, metres]);

export const benchRunSchema = z.strictObject({
  id: z.string().describe("its name"),
  log: z.string().describe("path or paths, as the manifest has it"),
  configuration: z.string().describe("what was mounted"),
  trajectory: z.string().describe("what the arm was asked to run"),
  speed: hertz.nullable().describe("cycle rate as filed; null where it was not"),
  speed_label: z.string().nullable().describe("as it was filed"),
  refit: z.string().nullable().describe("which mounting of the arm"),
  period: seconds.nullable().describe("of one cycle, measured"),
  cycles: counted.describe("whole cycles that it rests on"),
  used: z.boolean().describe("whether it enters the cells"),
  excluded_because: z.string().nullable().describe("why it does not enter; null where it does"),
  checks: z.array(benchCheckSchema).describe("what was found wrong with it"),
  travel: z
    .strictObject({ x: vector, y: vector, z: vector })
    .nullable()
    .describe("first harmonic of the control point in the arm base: real and imaginary part"),
  channels: z
    .record(z.enum(benchChannels), channel)
    .nullable()
    .describe("wrench that the arm exerts on its base, axes of the arm base, about `bench.point`"),
  resultant: z
    .strictObject({ force: bands.describe("of the force"), moment: bands.describe("of the moment") })
    .nullable()
    .describe("rms of all three axes together, by band"),
  apparent_mass: z
    .partialRecord(
      z.enum(axes),
      z.strictObject({
        k: counted.describe("harmonic"),
        re: kilograms.describe("in step with the arm: what moves"),
        im: kilograms.describe("a quarter of a cycle before the arm: what no mass can do"),
        se: kilograms.describe("standard error of each part"),
      }),
    )
    .nullable()
    .describe("first harmonic of force over (2 pi rate)^2 travel, along the axes that the arm travels"),
});

const byUnit = z.number().meta({ unit: "as `unit` says" });
const side = z.strictObject({
  n: counted.describe("refits"),
  mean: byUnit.describe("over refits"),
  sd: byUnit.nullable().describe("standard deviation over refits (n - 1); null for one"),
});

export const benchVerdicts = [
  "reduced",
  "increased",
  "within the noise",
  "too few refits",
  "cross-talk",
  "doubted",
] as const;

const place = {
  trajectory: z.string().describe("what the arm was asked to run"),
  configuration: z.string().describe("what was mounted"),
};

export const benchCellSchema = z.strictObject({
  trajectory: place.trajectory,
  speed: hertz.nullable().describe("cycle rate as filed"),
  speed_label: z.string().nullable().describe("as it was filed"),
  channel: z.enum(benchChannels).describe("of the wrench, axes of the arm base"),
  harmonic: z
    .union([counted, z.enum(["cycle", "full"])])
    .describe("1: real part of the first harmonic over travel; `cycle`, `full`: rms of that band"),
  unit: z.enum(["kg", "N", "N m"]).describe("of the sides' means; N for moments over travel"),
  baseline: side.describe("of the baseline"),
  candidate: side.describe("of the candidate"),
  reduction: plain.nullable().describe("1 less candidate over baseline; above 1: over-balanced"),
  ci95: interval(plain).nullable().describe("Fieller, paired over refits; null where unbounded"),
  method: z.enum(["paired", "welch"]).describe("paired over the refits that hold both, else Welch"),
  refits: counted.describe("how many it rests on"),
  p: plain.nullable().describe("two-sided, of no difference; null where it cannot be tested"),
  p_family: plain.nullable().describe("Holm over the bench's own family; null outside of it"),
  verdict: z.enum(benchVerdicts).nullable().describe("null outside the family"),
  doubts: z.array(z.enum(benchCheckCodes)).describe("findings that can have made the difference"),
});

const withInterval = <T extends z.ZodType>(value: T) =>
  z.strictObject({
    value: value.describe("mean over refits"),
    ci95: interval(value).nullable().describe("95 % interval over refits"),
  });
const overRefits = "95 % interval over refits; null for one refit, or without spread";

export const benchSchema = z.strictObject({
  checks: z.array(benchCheckSchema).describe("of the bench as a whole"),
  sensor: z
    .strictObject({
      at: z
        .strictObject({
          translation: z.tuple([metres, metres, metres]).describe("of its measuring origin"),
          rotation: z.tuple([plain, plain, plain, plain]).describe("quaternion x y z w"),
        })
        .describe("in the arm base"),
      sign: z.enum(["on_sensor", "on_arm"]).describe("whose wrench was logged"),
      filter: z.string().describe("of the device, in words"),
      calibrated: z.string().nullable().describe("when, as declared"),
    })
    .describe("the sensor as it was declared"),
  point: z
    .strictObject({
      name: z.string().describe("as declared"),
      at: z.tuple([metres, metres, metres]).describe("in the arm base"),
    })
    .describe("what moments are about"),
  resonance: z
    .array(
      z.strictObject({
        configuration: place.configuration,
        axis: z.enum(axes).describe("along which it was struck"),
        frequency: hertz.describe("its own, undamped"),
        damping: plain.describe("of critical"),
      }),
    )
    .describe("of stand and arm, from taps"),
  runs: z.array(benchRunSchema).describe("every run of the bench"),
  cells: z.array(benchCellSchema).describe("trajectory x speed x channel, the bench's own family"),
  moving: z
    .array(
      z.strictObject({
        trajectory: place.trajectory,
        axis: z.enum(axes).describe("along which the arm travels"),
        configuration: place.configuration,
        from: z.enum(["force", "gravity moment"]).describe("what shows it"),
        refits: counted.describe("how many it rests on"),
        value: kilograms.describe("mean over refits"),
        ci95: interval(kilograms).nullable().describe(overRefits),
        imaginary: kilograms.nullable().describe("a quarter of a cycle before the arm; null for the gravity moment"),
        expected: kilograms.nullable().describe("from the mass ledger"),
      }),
    )
    .describe("apparent moving mass by configuration, from force and from gravity's moment"),
  growth: z
    .array(
      z.strictObject({
        ...place,
        channel: z.enum(benchChannels).describe("of the wrench"),
        exponent: plain.nullable().describe("of the force over travel with the rate, to be held against 2"),
        ci95: interval(plain).nullable().describe(overRefits),
        df: counted.nullable().describe("degrees of freedom: refits less one"),
        gravity: withInterval(perTravel).nullable().describe("of a moment over travel: what stays at rate 0"),
        inertial: withInterval(z.number().meta({ unit: "kg m" }))
          .nullable()
          .describe("of a moment over travel: what grows with (2 pi rate)^2"),
      }),
    )
    .describe("how forces and moments grow with speed"),
  closure: z
    .array(
      z.strictObject({
        ...place,
        channel: z.enum(benchChannels).describe("the moment"),
        ratio: plain.nullable().describe("of the moment over what the force says of it"),
        ci95: interval(plain).nullable().describe("Fieller over refits; null where unbounded"),
        tolerance: plain.describe("how far from 1 it may be, cross-talk included"),
      }),
    )
    .describe("gravity's moment over what the force says of it: 1 where force and moment agree"),
  unchecked: z.array(z.string()).describe("what was not held against anything"),
  settings: z.record(z.string(), plain).describe("thresholds of the bench, SI"),
});

export type BenchEvaluation = z.infer<typeof benchSchema>;
export type BenchRunEvaluation = z.infer<typeof benchRunSchema>;
export type BenchCell = z.infer<typeof benchCellSchema>;
