import * as z from "zod";
import { measureIds } from "../catalogue/measures.ts";
import { axes, subjects } from "../foundation/signals.ts";
import { verdicts } from "./cell.ts";

/**
 * Why a campaign's differences are as they are: the part `reasons` of evaluation.json. SI throughout, every number finite,
 * what cannot be had is null. Nothing here carries a verdict: the verdicts are those of `cells`.
 */

const number = z.number();
const nullable = z.number().nullable();
const interval = z.tuple([number, number]);
const vector = z.tuple([number, number, number]);

const parts = z.strictObject({ vehicle: number, attitude: number, arm: number });
const budgetFigures = z.strictObject({
  /** root of the mean square over the runs, metres */
  rms: number,
  /** root mean square of each part, metres */
  parts,
  /** share of each part in the mean square (mean(part total)/mean(total^2)); they add up to 1; null where nothing moves */
  shares: parts.nullable(),
});

/** Error budget of the effector over the used runs of one configuration on one trajectory; every run counts alike. */
export const configurationBudgetSchema = z.strictObject({
  trajectory: z.string(),
  configuration: z.string(),
  window: z.enum(["cycles", "hold"]),
  /** ids of the runs that have a budget */
  runs: z.array(z.string()),
  x: budgetFigures,
  y: budgetFigures,
  z: budgetFigures,
  norm: budgetFigures,
});

const shifted = z.strictObject({ difference: number, p_family: nullable, verdict: z.enum(verdicts) });

/**
 * How an effector cell of the family would move if tool point and arm base were off by their uncertainty, the same in every
 * run; exact, for rms and sd (a run's mean square is a quadratic form in the parameters).
 */
export const frameEffectSchema = z.strictObject({
  trajectory: z.string(),
  axis: z.enum(axes),
  metric: z.enum(measureIds),
  uncertainty: z.strictObject({ length: number, angle: number }),
  /** as flown, metres */
  difference: number,
  /** greatest change of the difference, metres: every parameter anywhere within its uncertainty; and in quadrature, each alone */
  worst: number,
  quadrature: number,
  /** the parameter that moves it most when off alone, and by how much, metres */
  largest: z.strictObject({ parameter: z.string(), change: number }),
  verdict: z.enum(verdicts),
  /** the cell with the parameters where the difference is smallest, and largest; the other cells kept */
  lowest: shifted,
  highest: shifted,
});

const synchronousSide = z.strictObject({
  /** ids of the used runs that have this harmonic */
  runs: z.array(z.string()),
  /** of the mean vector over runs (within blocks: over blocks, weighed as the difference is), metres */
  cos: number,
  sin: number,
  amplitude: number,
  /** radians, of a cos(k theta + phi) */
  phase: number,
});

/** One harmonic of one axis compared as a vector: mean over runs of (cos, sin), baseline against candidate. Exploratory. */
export const synchronousEffectSchema = z.strictObject({
  trajectory: z.string(),
  subject: z.enum(subjects),
  axis: z.enum(axes),
  k: z.int(),
  baseline: synchronousSide,
  candidate: synchronousSide,
  method: z.enum(["whole", "blocked"]),
  /** candidate - baseline, as the method takes it; metres */
  difference: z.strictObject({ cos: number, sin: number, amplitude: number }),
  /** Hotelling's T^2, its F with degrees of freedom, and p; null with too few runs or no spread */
  hotelling: z.strictObject({ t2: number, f: number, df1: z.int(), df2: z.int(), p: number }).nullable(),
  permutation: z.strictObject({ p: number, p_least: number, arrangements: z.int(), exact: z.boolean() }).nullable(),
  /** balancing ratio |candidate| / |baseline|; its interval's upper end is null where the runs set no limit to it */
  ratio: nullable,
  ratio_ci95: z.tuple([number, nullable]).nullable(),
});

/**
 * What counterweights of the settings flown still leave, from influence coefficients: the vehicle's synchronous vectors are
 * taken to follow the counterweights' moment (sum of mass x place) in a straight line. A suggestion, no verdict.
 */
export const imbalanceSchema = z.strictObject({
  trajectory: z.string(),
  subject: z.enum(subjects),
  k: z.int(),
  /** what was flown: configuration, runs, and the counterweights' moment, kg m in the counterweights' frame */
  settings: z.array(z.strictObject({ configuration: z.string(), runs: z.int(), moment: vector })),
  /** directions in which the settings differ, unit vectors; the influence is known in these alone */
  directions: z.array(vector),
  /** per direction, per axis: metres of synchronous vector per kg m */
  influence: z.array(
    z.strictObject({
      x: z.strictObject({ cos: number, sin: number }),
      y: z.strictObject({ cos: number, sin: number }),
      z: z.strictObject({ cos: number, sin: number }),
    }),
  ),
  /** moment at which the synchronous error is smallest, within the directions, kg m */
  best: vector,
  /** mass x distance still to be added to the candidate's setting: best - candidate, kg m; with an interval per direction */
  remaining: z.strictObject({
    moment: vector,
    along: z.array(z.strictObject({ value: number, se: nullable, ci95: interval.nullable() })),
  }),
  /** root mean square of the vehicle's synchronous error of this harmonic over three axes, metres: as flown, and expected */
  synchronous_rms: z.strictObject({ baseline: number, candidate: number, best: number }),
  /** `best` lies outside the settings flown: the straight line is stretched beyond what was seen */
  extrapolated: z.boolean(),
  /** the influence is told from 0 (p < 0.05); without it `best` means nothing */
  influence_p: nullable,
});

/** Variance of a cell's runs taken apart: between runs, and between the cycles of a run (REML). */
export const componentsSchema = z.strictObject({
  trajectory: z.string(),
  subject: z.enum(subjects),
  axis: z.enum(axes),
  /** rms of each cycle is what varies, whatever the metric of the campaign */
  measure: z.literal("rms of a cycle"),
  runs: z.int(),
  /** harmonic mean of cycles per run */
  cycles: number,
  /** standard deviations, metres; 0 where the cycles alone explain how the runs differ */
  between_runs: number,
  between_cycles: number,
  /** interval of `between_runs`, metres; null where it cannot be had */
  between_runs_ci95: interval.nullable(),
  /** share of a single cycle's variance that lies between runs (intraclass correlation) */
  intraclass: number,
  /** 1 + (cycles - 1) intraclass (Kish 1965): cycles treated as runs would understate the variance this many times */
  design_effect: number,
  /** correlation of neighbouring cycles within runs; null with too few cycles */
  neighbour_correlation: nullable,
  /** standard error of a configuration's mean, metres: as flown, with twice the runs, with twice the cycles, with endless cycles */
  standard_error: z.strictObject({ flown: number, twice_runs: number, twice_cycles: number, endless_cycles: number }),
  /** what helps: more cycles only where doubling them cuts the standard error by at least a tenth */
  helps: z.enum(["more runs", "more runs or more cycles"]),
});

export const reasonsSchema = z.strictObject({
  budget: z.array(configurationBudgetSchema),
  frames: z.array(frameEffectSchema),
  synchronous: z.array(synchronousEffectSchema),
  imbalance: z.array(imbalanceSchema),
  components: z.array(componentsSchema),
});

export type Reasons = z.infer<typeof reasonsSchema>;
export type ConfigurationBudget = z.infer<typeof configurationBudgetSchema>;
export type FrameEffect = z.infer<typeof frameEffectSchema>;
export type SynchronousEffect = z.infer<typeof synchronousEffectSchema>;
export type Imbalance = z.infer<typeof imbalanceSchema>;
export type Components = z.infer<typeof componentsSchema>;
