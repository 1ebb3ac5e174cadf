import * as z from "zod";
import { measureIds } from "../catalogue/measures.ts";
import { axes, subjects } from "../foundation/signals.ts";
import { verdicts } from "./cell.ts";
import { asPrimary, counted, interval, metres, moments, perAxis, plain, radians } from "./quantities.ts";
import { budgetFigures, uncertainty } from "./runExtras.ts";

/**
 * Why a campaign's differences are as they are: the part `reasons` of evaluation.json. SI throughout, every number finite,
 * what is not known is null. Nothing here carries a verdict: the verdicts are those of `cells`.
 */

const place = {
  trajectory: z.string().describe("name of the trajectory"),
  subject: z.enum(subjects).describe("whose error"),
};
const vector = z.tuple([moments, moments, moments]);

/** Error budget of the effector over the used runs of one configuration on one trajectory; every run counts alike. */
export const configurationBudgetSchema = z.strictObject({
  trajectory: place.trajectory,
  configuration: z.string().describe("name of the configuration"),
  window: z.enum(["cycles", "hold"]).describe("the window it is taken from"),
  runs: z.array(z.string()).describe("ids of the runs that have a budget"),
  x: budgetFigures,
  y: budgetFigures,
  z: budgetFigures,
  norm: budgetFigures.describe("of all axes together"),
});

const shifted = z.strictObject({
  difference: asPrimary.describe("candidate less baseline"),
  p_family: plain.nullable().describe("Holm's p among the family"),
  verdict: z.enum(verdicts).describe("the verdict then"),
});

/**
 * How an effector cell of the family would move if tool point and arm base were off by their uncertainty, the same in every
 * run; exact, for rms and sd (a run's mean square is a quadratic form in the parameters).
 */
export const frameEffectSchema = z.strictObject({
  trajectory: place.trajectory,
  axis: z.enum(axes).describe("along which axis"),
  metric: z.enum(measureIds).describe("the measure"),
  uncertainty: uncertainty.describe("by how much tool point and arm base may be off"),
  difference: metres.describe("as flown"),
  worst: metres.describe("greatest change of the difference with every parameter anywhere within its uncertainty"),
  quadrature: metres.describe("change of the difference in quadrature, each parameter off alone"),
  largest: z
    .strictObject({ parameter: z.string().describe("its name"), change: metres.describe("by how much") })
    .describe("the parameter that moves it most when off alone"),
  verdict: z.enum(verdicts).describe("as flown"),
  lowest: shifted.describe("the cell with the parameters where the difference is smallest; the other cells kept"),
  highest: shifted.describe("the cell with the parameters where the difference is largest"),
});

const phasor = {
  cos: metres.describe("cosine coefficient"),
  sin: metres.describe("sine coefficient"),
};
const synchronousSide = z.strictObject({
  runs: z.array(z.string()).describe("ids of the used runs that have this harmonic"),
  ...phasor,
  amplitude: metres.describe("of the mean vector over runs (within blocks: over blocks, weighed as the difference is)"),
  phase: radians.describe("of amplitude cos(k theta + phase)"),
});

/** One harmonic of one axis compared as a vector: mean over runs of (cos, sin), baseline against candidate. Exploratory. */
export const synchronousEffectSchema = z.strictObject({
  ...place,
  axis: z.enum(axes).describe("along which axis"),
  k: counted.describe("harmonic of the cycle rate"),
  baseline: synchronousSide.describe("mean vector of the baseline"),
  candidate: synchronousSide.describe("mean vector of the candidate"),
  method: z.enum(["whole", "blocked"]).describe("over all runs, or within blocks"),
  difference: z
    .strictObject({ ...phasor, amplitude: metres.describe("length of the difference") })
    .describe("candidate - baseline, as the method takes it"),
  hotelling: z
    .strictObject({
      t2: plain.describe("Hotelling's T^2"),
      f: plain.describe("its F"),
      df1: counted.describe("degrees of freedom"),
      df2: plain.describe("degrees of freedom; no whole number where counts differ"),
      p: plain.describe("its p"),
    })
    .nullable()
    .describe("null with too few runs or no spread"),
  permutation: z
    .strictObject({
      p: plain.describe("of the permutation test"),
      p_least: plain.describe("the smallest that these runs could ever give"),
      arrangements: counted.describe("rearrangements of the labels looked at"),
      exact: z.boolean().describe("all of them were looked at; else a seeded sample"),
    })
    .nullable()
    .describe("null with too few runs"),
  ratio: plain.nullable().describe("balancing ratio |candidate| / |baseline|"),
  ratio_ci95: z
    .tuple([plain, plain.nullable()])
    .nullable()
    .describe("its 95 % interval; the upper end is null where the runs set no limit to it"),
});

const influence = z.strictObject({
  cos: plain.meta({ unit: "m/(kg m)" }).describe("cosine coefficient"),
  sin: plain.meta({ unit: "m/(kg m)" }).describe("sine coefficient"),
});

/**
 * What counterweights of the settings flown still leave, from influence coefficients: the vehicle's synchronous vectors are
 * taken to follow the counterweights' moment (sum of mass x place) in a straight line. A suggestion, no verdict.
 */
export const imbalanceSchema = z.strictObject({
  ...place,
  k: counted.describe("harmonic of the cycle rate"),
  settings: z
    .array(
      z.strictObject({
        configuration: z.string().describe("name of the configuration"),
        runs: counted.describe("runs that have the harmonic"),
        moment: vector.describe("the counterweights' moment, in their frame"),
      }),
    )
    .describe("what was flown"),
  directions: z
    .array(z.tuple([plain, plain, plain]))
    .describe("directions in which the settings differ, unit vectors; the influence is known in these alone"),
  influence: z.array(perAxis(influence)).describe("per direction: synchronous vector per moment"),
  best: vector.describe("moment at which the synchronous error is smallest, within the directions"),
  remaining: z
    .strictObject({
      moment: vector.describe("best - candidate"),
      along: z
        .array(
          z.strictObject({
            value: moments.describe("along the direction"),
            se: moments.nullable().describe("its standard error"),
            ci95: interval(moments).nullable().describe("its 95 % interval"),
          }),
        )
        .describe("per direction"),
    })
    .describe("mass x distance still to be added to the candidate's setting"),
  synchronous_rms: z
    .strictObject({
      baseline: metres.describe("of the baseline, as flown"),
      candidate: metres.describe("of the candidate, as flown"),
      best: metres.describe("expected with `best`"),
    })
    .describe("root mean square of the vehicle's synchronous error of this harmonic over three axes"),
  extrapolated: z
    .boolean()
    .describe("`best` lies outside the settings flown: the straight line is stretched beyond what was seen"),
  influence_p: plain.nullable().describe("that the influence is none; at 0.05 and above `best` means nothing"),
});

/** Variance of a cell's runs taken apart: between runs, and between the cycles of a run (REML). */
export const componentsSchema = z.strictObject({
  ...place,
  axis: z.enum(axes).describe("along which axis"),
  measure: z.literal("rms of a cycle").describe("what varies, whatever the metric of the campaign"),
  runs: counted.describe("runs that enter"),
  cycles: plain.describe("harmonic mean of cycles per run"),
  between_runs: metres.describe(
    "standard deviation between runs; 0 where the cycles alone explain how the runs differ",
  ),
  between_cycles: metres.describe("standard deviation between the cycles of a run"),
  between_runs_ci95: interval(metres)
    .nullable()
    .describe("95 % interval of `between_runs`; null where it is not known"),
  intraclass: plain.describe("share of a single cycle's variance that lies between runs (intraclass correlation)"),
  design_effect: plain.describe(
    "1 + (cycles - 1) intraclass (Kish 1965): cycles treated as runs would understate the variance this many times",
  ),
  neighbour_correlation: plain
    .nullable()
    .describe("correlation of neighbouring cycles within runs; null with too few cycles"),
  standard_error: z
    .strictObject({
      flown: metres.describe("as flown"),
      twice_runs: metres.describe("with twice the runs"),
      twice_cycles: metres.describe("with twice the cycles"),
      endless_cycles: metres.describe("with endless cycles"),
    })
    .describe("standard error of a configuration's mean"),
  helps: z
    .enum(["more runs", "more runs or more cycles"])
    .describe("more cycles only where doubling them cuts the standard error by at least a tenth"),
});

export const reasonsSchema = z.strictObject({
  budget: z.array(configurationBudgetSchema).describe("what the effector's error is made of, per configuration"),
  frames: z.array(frameEffectSchema).describe("how far an unsure tool point and arm base could move effector cells"),
  synchronous: z.array(synchronousEffectSchema).describe("harmonics of the arm's cycle compared as vectors"),
  imbalance: z.array(imbalanceSchema).describe("what counterweights still leave"),
  components: z.array(componentsSchema).describe("variance between runs and between cycles"),
});

export type Reasons = z.infer<typeof reasonsSchema>;
export type ConfigurationBudget = z.infer<typeof configurationBudgetSchema>;
export type FrameEffect = z.infer<typeof frameEffectSchema>;
export type SynchronousEffect = z.infer<typeof synchronousEffectSchema>;
export type Imbalance = z.infer<typeof imbalanceSchema>;
export type Components = z.infer<typeof componentsSchema>;
