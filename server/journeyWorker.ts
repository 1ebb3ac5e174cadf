import { parentPort } from "node:worker_threads";
import { CounterpoiseError } from "../src/foundation/errors.ts";
import { type CheckedCampaign, checkCampaign } from "../src/pipeline/checkCampaign.ts";
import { fileStamp } from "../src/pipeline/fileStamp.ts";
import type { KeepingWish } from "../src/pipeline/kept/keeping.ts";
import { keptJourney } from "../src/pipeline/kept/keptJourney.ts";
import type { JourneyOptions, Progress } from "../src/pipeline/measureCampaign.ts";
import { rememberRuns } from "./rememberRuns.ts";
import { type JudgedCampaign, judgeCampaign } from "./ServiceEffects.ts";

/** What is asked of the thread in which a service evaluates. */
export interface JourneyQuestion {
  readonly kind: "judge" | "check";
  readonly manifestPath: string;
  readonly keeping: KeepingWish;
}

/** Progress while it goes on, then its end. An error's class does not survive the journey between threads, so its parts travel. */
export type JourneyNews =
  | { readonly progress: Progress }
  | { readonly result: JudgedCampaign | CheckedCampaign }
  | { readonly fault: { code: string; message: string; place: string | null; hint: string | null } }
  | { readonly broken: { message: string; stack: string | undefined } };

const tell = (news: JourneyNews): void => parentPort?.postMessage(news);

/** A thread serves one campaign. What is remembered lasts as long: an evaluation after an exclusion costs the comparison alone. */
let known: { readonly options: JourneyOptions; readonly save: () => Promise<void> } | null = null;

function journeyOf({ manifestPath, keeping }: JourneyQuestion): NonNullable<typeof known> {
  const { effects, measureRuns, save } = keptJourney(manifestPath, keeping);
  const options: JourneyOptions = {
    effects,
    measureRuns: rememberRuns(measureRuns, fileStamp),
    onProgress: (progress) => tell({ progress }),
  };
  return { options, save };
}

parentPort?.on("message", async (question: JourneyQuestion) => {
  try {
    known ??= journeyOf(question);
    const journey = question.kind === "judge" ? judgeCampaign : checkCampaign;
    tell({ result: await journey(question.manifestPath, known.options) });
    await known.save();
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
