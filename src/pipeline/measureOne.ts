import type { AlignedRun } from "../alignment/alignRun.ts";
import type { RunDeclaration } from "../contract/campaign.ts";
import type { CampaignEvaluation } from "../contract/evaluation.ts";
import type { RunExtras } from "../contract/runExtras.ts";
import type { Check } from "../foundation/checks.ts";
import { type AlignJob, alignOneRun, type RunFacts } from "./alignOneRun.ts";
import { deviations, noiseInFlight } from "./captureNoise.ts";
import type { Fingerprint } from "./copiedRuns.ts";
import type { Effects } from "./effects.ts";
import { type FastMotion, fastMotion } from "./fastMotion.ts";
import { fittedInRun } from "./fittedList.ts";
import { measureExtras } from "./measureExtras.ts";
import { type BodyNoise, measureRun, type RunMeasures } from "./measureRun.ts";
import { sharedRateCheck } from "./sharedRateCheck.ts";
import { splitCyclesCheck } from "./splitCyclesCheck.ts";
import { startStopCheck } from "./startStopCheck.ts";

/** All that is needed to work through one run, as plain data: it may travel to another thread. */
export interface RunJob extends AlignJob {
  /** sd of the measurement noise from static captures; null where there are none */
  readonly known: { readonly vehicle: BodyNoise | null; readonly effector: BodyNoise | null };
}

/** What is kept of a run once its samples are let go. */
export interface MeasuredRun {
  readonly declaration: RunDeclaration;
  readonly epoch: bigint | null;
  readonly checks: readonly Check[];
  readonly clocks: AlignedRun["clocks"];
  readonly witness: AlignedRun["witness"];
  readonly hold: AlignedRun["hold"];
  readonly cycles: AlignedRun["cycles"];
  readonly period: number | null;
  readonly flight: AlignedRun["flight"];
  readonly heading: AlignedRun["heading"];
  readonly judgedIn: AlignedRun["judgedIn"];
  readonly choices: AlignedRun["choices"];
  readonly measures: RunMeasures;
  readonly extras: RunExtras;
  readonly noise: ReturnType<typeof noiseInFlight>;
  readonly fast: FastMotion;
  readonly fingerprint: Fingerprint;
  readonly fitted: CampaignEvaluation["fitted"];
  readonly parameters: RunFacts["parameters"];
  readonly markers: RunFacts["markers"];
}

/**
 * Reads, aligns and measures one run. A fault of its log is among its checks.
 *
 * A run whose stretch is still to be decided over all runs of its trajectory is not measured: what it gives is its `flight`.
 */
export async function measureOne(job: RunJob, effects: Effects): Promise<MeasuredRun> {
  const { campaign, declaration, known, settings } = job;
  const { aligned: whole, identity, parameters, markers } = await alignOneRun(job, effects);
  const undecided = whole.flight !== null && job.stretch === undefined;
  const aligned: AlignedRun = undecided ? { ...whole, hold: null, cycles: [], subjects: {}, bodies: {} } : whole;
  const noise = noiseInFlight(aligned);
  const limits = {
    vehicle: known.vehicle ?? deviations(noise.vehicle),
    effector: known.effector ?? deviations(noise.effector),
  };
  const measures = measureRun(aligned, limits, settings, campaign.tolerance);
  return {
    declaration,
    epoch: aligned.epoch,
    checks: [
      ...aligned.checks,
      ...splitCyclesCheck(aligned, settings),
      ...startStopCheck(aligned, settings),
      ...sharedRateCheck(aligned, measures.synchronous, settings),
    ],
    clocks: aligned.clocks,
    witness: aligned.witness,
    hold: aligned.hold,
    cycles: aligned.cycles,
    period: aligned.period,
    flight: aligned.flight,
    heading: aligned.heading,
    judgedIn: aligned.judgedIn,
    choices: aligned.choices,
    measures,
    extras: measureExtras(aligned, campaign, measures.synchronous, settings),
    noise,
    fast: fastMotion(aligned),
    fingerprint: identity,
    fitted: fittedInRun(campaign, declaration, aligned),
    parameters,
    markers,
  };
}
