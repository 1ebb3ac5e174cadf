import * as z from "zod";
import { measureIds } from "../catalogue/measures.ts";
import { verdicts } from "../catalogue/verdicts.ts";
import { checkCodes } from "../foundation/checks.ts";
import { axes, subjects } from "../foundation/tracks.ts";
import {
  asPrimary,
  byUnit,
  counted,
  interval,
  kilograms,
  metres,
  moments,
  perAxis,
  plain,
  radians,
  squareMetres,
} from "./quantities.ts";
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
    .strictObject({
      ...phasor,
      amplitude: metres.describe("length of the difference"),
      cov: z
        .tuple([squareMetres, squareMetres, squareMetres])
        .nullable()
        .describe("var(cos), cov(cos, sin), var(sin) of the difference, by which T^2 is taken; null without a test"),
    })
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
  ratio: plain.nullable().describe("displacement ratio |candidate| / |baseline|"),
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

const openRange = <T extends z.ZodType>(of: T) => z.tuple([of.nullable(), of.nullable()]).nullable();

/**
 * What moves, as flown: apparent moving mass along one horizontal axis of the vehicle (moving moment over the control point's
 * travel), from position and tilt of one capture. 0 where balanced, below 0 where over-balanced. No verdict.
 */
export const movingEffectSchema = z.strictObject({
  trajectory: place.trajectory,
  axis: z.enum(axes).describe("along which axis of the vehicle's mean heading"),
  harmonic: counted.describe("harmonic of the cycle rate"),
  unit: z.enum(["kg", "1"]).describe("kg, or 1 where the take-off mass is not known: shares of the mass of the whole"),
  configurations: z
    .record(
      z.string(),
      z.strictObject({
        n: counted.describe("used runs that show it"),
        mean: byUnit.describe("apparent moving mass, mean over the runs"),
        sd: byUnit.nullable().describe("over the runs, n - 1; null with fewer than 2"),
        ci95: interval(byUnit).nullable().describe("95 % interval of the mean (Student's t)"),
        imaginary: byUnit.describe("mean imaginary part: 0 where what moves is in step with the arm"),
        imaginary_ci: interval(byUnit)
          .nullable()
          .describe(
            "its interval, from the noise within the runs; its level is `moving_phase_level` shared among all means of the campaign",
          ),
        expected: kilograms.nullable().describe("what the declared masses and travels make; null where not declared"),
        expected_se: kilograms.nullable().describe("its standard uncertainty"),
        mass: kilograms.nullable().describe("take-off mass, mean over the runs"),
        values: z.array(byUnit).describe("one value per run, in the order of `runs`"),
        runs: z.array(z.string()).describe("ids of the runs"),
        checks: z
          .array(
            z.strictObject({
              code: z.enum(checkCodes).describe("code of the check"),
              message: z.string().describe("what was found"),
            }),
          )
          .describe("what makes it doubtful"),
      }),
    )
    .describe("by name of the configuration"),
  contrasts: z
    .record(
      z.string(),
      z.strictObject({
        difference: z
          .strictObject({
            value: byUnit.describe("configuration less baseline, within blocks where these hold both"),
            ci95: interval(byUnit).nullable().describe("its 95 % interval"),
          })
          .describe("of the apparent moving masses"),
        ratio: z
          .strictObject({
            value: plain.nullable().describe("configuration over baseline; null where the masses are not comparable"),
            ci95: openRange(plain).describe("its 95 % interval by Fieller's method; null where unbounded"),
            expected: plain.nullable().describe("what the declared masses and travels make"),
          })
          .describe("balance ratio"),
      }),
    )
    .describe("each other configuration against the baseline, by name"),
  remaining: z
    .strictObject({
      value: kilograms.describe("apparent moving mass with the candidate"),
      ci95: interval(kilograms).nullable().describe("its 95 % interval"),
      per_weight: plain.describe("taken away per mass of counterweight"),
      per_weight_ci95: openRange(plain).describe("its 95 % interval; of no width where it is declared"),
      source: z.enum(["declared", "flown"]).describe("where that is known from"),
      fitted: kilograms.describe("mass of the counterweights"),
      more: kilograms.nullable().describe("how much heavier they would have to be for balance; null: no advice"),
      more_ci95: openRange(kilograms).describe("its 95 % interval"),
      further: metres
        .nullable()
        .describe(
          "how much further from their pivots the same weights would have to sit; null where no `lever` is declared",
        ),
      further_ci95: openRange(metres).describe("its 95 % interval"),
      why_not: z.string().nullable().describe("why there is no advice"),
    })
    .nullable()
    .describe("what the candidate's counterweights still leave; null where they or the masses are not known"),
  budget: z
    .array(
      z.strictObject({
        what: z.string().describe("what may be off"),
        effect: byUnit.describe("by how much the baseline's apparent mass is off then"),
        cancels: z.boolean().describe("whether that nearly cancels in the balance ratio"),
      }),
    )
    .describe("what no interval over runs shows"),
});

export const reasonsSchema = z.strictObject({
  budget: z.array(configurationBudgetSchema).describe("what the effector's error is made of, per configuration"),
  frames: z.array(frameEffectSchema).describe("how far an unsure tool point and arm base could move effector cells"),
  synchronous: z.array(synchronousEffectSchema).describe("harmonics of the arm's cycle compared as vectors"),
  imbalance: z.array(imbalanceSchema).describe("what counterweights still leave"),
  components: z.array(componentsSchema).describe("variance between runs and between cycles"),
  moving: z.array(movingEffectSchema).describe("what moves as flown, apart from what mass does"),
});

export type Reasons = z.infer<typeof reasonsSchema>;
export type ConfigurationBudget = z.infer<typeof configurationBudgetSchema>;
export type FrameEffect = z.infer<typeof frameEffectSchema>;
export type SynchronousEffect = z.infer<typeof synchronousEffectSchema>;
export type Imbalance = z.infer<typeof imbalanceSchema>;
export type MovingEffect = z.infer<typeof movingEffectSchema>;
export type Components = z.infer<typeof componentsSchema>;
