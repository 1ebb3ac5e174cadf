import type { Campaign } from "../src/contract/campaign.ts";
import type { CampaignEvaluation } from "../src/contract/evaluation.ts";
import { StoppedError } from "../src/foundation/errors.ts";
import { checkCampaign } from "../src/pipeline/checkCampaign.ts";
import { diskEffects, type Effects } from "../src/pipeline/effects.ts";
import { evaluateCampaign } from "../src/pipeline/evaluateCampaign.ts";
import { type FileStamp, fileStamp } from "../src/pipeline/fileStamp.ts";
import type { JourneyOptions } from "../src/pipeline/measureCampaign.ts";
import { type MeasureRuns, sideBySide } from "../src/pipeline/runPool.ts";
import { besideManifest } from "../src/pipeline/wholeText.ts";
import { evaluationJson } from "../src/pipeline/writeEvaluation.ts";

export interface JudgedCampaign {
  readonly evaluation: CampaignEvaluation;
  readonly json: string;
}

export async function judgeCampaign(manifestPath: string, options: JourneyOptions): Promise<JudgedCampaign> {
  const evaluation = await evaluateCampaign(manifestPath, options);
  return { evaluation, json: evaluationJson(evaluation) };
}

/** Calls a function again and again. @returns stops it */
export type Every = (milliseconds: number, call: () => void) => () => void;

/** Everything the service needs from outside: disk, clock, and the journey itself. Tests pass their own. */
export interface ServiceEffects {
  readonly disk: Effects;
  readonly stamp: FileStamp;
  readonly every: Every;
  /** the evaluation, and evaluation.json, validated */
  readonly judgeCampaign: (manifestPath: string, options: JourneyOptions) => Promise<JudgedCampaign>;
  readonly checkCampaign: typeof checkCampaign;
  /** chosen again for every evaluation */
  readonly measureRuns: MeasureRuns;
  /** ends a journey that is under way elsewhere */
  readonly end: () => void;
}

export const every: Every = (milliseconds, call) => {
  const timer = setInterval(call, milliseconds);
  // a watch alone keeps no process alive
  timer.unref();
  return () => clearInterval(timer);
};

export const serviceEffects: ServiceEffects = {
  disk: diskEffects,
  stamp: fileStamp,
  every,
  judgeCampaign,
  checkCampaign,
  measureRuns: sideBySide,
  end: () => undefined,
};

/** The logs and static captures of a campaign, as the disk knows them. */
export function logsOf(campaign: Campaign, manifestPath: string): string[] {
  const logs = campaign.runs.flatMap((run) => Object.values(run.logs).flat());
  return [...campaign.staticCaptures, ...logs].map((path) => besideManifest(manifestPath, path));
}

/** Effects that end an evaluation at the next log or sum once the service is stopped. */
export function stoppable(effects: Effects, isStopped: () => boolean): Effects {
  const guard = (): void => {
    if (isStopped()) throw new StoppedError("the service");
  };
  return {
    ...effects,
    readLog: async (...args) => {
      guard();
      return effects.readLog(...args);
    },
    sha256: async (path) => {
      guard();
      return effects.sha256(path);
    },
  };
}

/** Effects that note which files are asked for. */
export function noticing(effects: Effects, touched: Set<string>): Effects {
  return {
    ...effects,
    size: (path) => {
      touched.add(path);
      return effects.size(path);
    },
  };
}
