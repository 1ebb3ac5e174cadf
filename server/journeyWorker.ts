import { parentPort } from "node:worker_threads";
import { CounterpoiseError } from "../src/foundation/errors.ts";
import { type CheckedCampaign, checkCampaign } from "../src/pipeline/checkCampaign.ts";
import { diskEffects } from "../src/pipeline/effects.ts";
import { fileStamp } from "../src/pipeline/fileStamp.ts";
import type { JourneyOptions, Progress } from "../src/pipeline/measureCampaign.ts";
import { sideBySide } from "../src/pipeline/runPool.ts";
import { rememberRuns, rememberSums } from "./rememberRuns.ts";
import { type JudgedCampaign, judgeCampaign } from "./ServiceEffects.ts";

/** What is asked of the thread in which a service evaluates. */
export interface JourneyQuestion {
  readonly kind: "judge" | "check";
  readonly manifestPath: string;
}

/** Progress while it goes on, then its end. An error's class does not survive the journey between threads, so its parts travel. */
export type JourneyNews =
  | { readonly progress: Progress }
  | { readonly result: JudgedCampaign | CheckedCampaign }
  | { readonly fault: { code: string; message: string; place: string | null; hint: string | null } }
  | { readonly broken: { message: string; stack: string | undefined } };

const tell = (news: JourneyNews): void => parentPort?.postMessage(news);
// what is remembered lasts as long as the thread: an evaluation after an exclusion costs the comparison alone
const options: JourneyOptions = {
  effects: rememberSums(diskEffects, fileStamp),
  measureRuns: rememberRuns(sideBySide, fileStamp),
  onProgress: (progress) => tell({ progress }),
};

parentPort?.on("message", async ({ kind, manifestPath }: JourneyQuestion) => {
  try {
    const journey = kind === "judge" ? judgeCampaign : checkCampaign;
    tell({ result: await journey(manifestPath, options) });
  } catch (error) {
    if (error instanceof CounterpoiseError) {
      const { code, message, place, hint } = error;
      tell({ fault: { code, message, place, hint } });
    } else {
      const { message, stack } = error instanceof Error ? error : new Error(String(error));
      tell({ broken: { message, stack } });
    }
  }
});
