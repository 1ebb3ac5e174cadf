import { type AlignedRun, alignRun, type PreparedSignals, prepareSignals } from "../alignment/alignRun.ts";
import type { Campaign, RunDeclaration } from "../contract/campaign.ts";
import type { CampaignEvaluation } from "../contract/evaluation.ts";
import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import { deviations, noiseInFlight } from "./captureNoise.ts";
import { type Fingerprint, fingerprint } from "./copiedRuns.ts";
import type { Effects } from "./effects.ts";
import { fittedInRun } from "./fittedList.ts";
import { type BodyNoise, measureRun, type RunMeasures } from "./measureRun.ts";
import { readRunSignals } from "./readRunSignals.ts";

/** All that is needed to work through one run, as plain data: it may travel to another thread. */
export interface RunJob {
  readonly campaign: Campaign;
  readonly declaration: RunDeclaration;
  readonly manifestPath: string;
  /** sd of the measurement noise from static captures; null where there are none */
  readonly known: { readonly vehicle: BodyNoise | null; readonly effector: BodyNoise | null };
  readonly settings: Settings;
}

/** What is kept of a run once its samples are let go. */
export interface MeasuredRun {
  readonly declaration: RunDeclaration;
  readonly epoch: bigint | null;
  readonly checks: readonly Check[];
  readonly clocks: AlignedRun["clocks"];
  readonly hold: AlignedRun["hold"];
  readonly cycles: AlignedRun["cycles"];
  readonly period: number | null;
  readonly choices: AlignedRun["choices"];
  readonly measures: RunMeasures;
  readonly noise: ReturnType<typeof noiseInFlight>;
  readonly fingerprint: Fingerprint;
  readonly fitted: CampaignEvaluation["fitted"];
}

/** Reads, aligns and measures one run. A fault of its log is among its checks. */
export async function measureOne(job: RunJob, effects: Effects): Promise<MeasuredRun> {
  const { campaign, declaration, known, settings } = job;
  const { prepared, checks, identity } = await readAndPrepare(job, effects);
  const aligned = alignRun(campaign, declaration, prepared, checks, settings);
  const noise = noiseInFlight(aligned);
  const limits = {
    vehicle: known.vehicle ?? deviations(noise.vehicle),
    effector: known.effector ?? deviations(noise.effector),
  };
  return {
    declaration,
    epoch: aligned.epoch,
    checks: aligned.checks,
    clocks: aligned.clocks,
    hold: aligned.hold,
    cycles: aligned.cycles,
    period: aligned.period,
    choices: aligned.choices,
    measures: measureRun(aligned, limits, settings),
    noise,
    fingerprint: identity,
    fitted: fittedInRun(campaign, declaration, aligned),
  };
}

/** Reading apart from the rest, so that the raw columns can be let go before the run is aligned. */
async function readAndPrepare(
  { campaign, declaration, manifestPath, settings }: RunJob,
  effects: Effects,
): Promise<{ prepared: PreparedSignals; checks: readonly Check[]; identity: Fingerprint }> {
  const { signals, checks } = await readRunSignals(campaign, declaration, manifestPath, effects);
  return {
    prepared: prepareSignals(campaign, declaration, signals, settings),
    checks,
    identity: fingerprint(declaration.id, signals.get("vehicle_pose")),
  };
}
