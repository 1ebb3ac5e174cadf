import { checkCampaign } from "../src/pipeline/checkCampaign.ts";
import { diskEffects, type Effects } from "../src/pipeline/effects.ts";
import { evaluateCampaign } from "../src/pipeline/evaluateCampaign.ts";
import { inTurn, type MeasureRuns } from "../src/pipeline/measureRuns.ts";
import { type FileStamp, fileStamp } from "./fileStamp.ts";

/** Calls a function again and again. @returns stops it */
export type Every = (milliseconds: number, call: () => void) => () => void;

/** Everything the service needs from outside: disk, clock, and the journey itself. Tests pass their own. */
export interface ServiceEffects {
  readonly disk: Effects;
  readonly stamp: FileStamp;
  readonly every: Every;
  readonly evaluateCampaign: typeof evaluateCampaign;
  readonly checkCampaign: typeof checkCampaign;
  /** chosen again for every evaluation */
  readonly measureRuns: MeasureRuns;
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
  evaluateCampaign,
  checkCampaign,
  measureRuns: inTurn,
};
