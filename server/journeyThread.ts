import { existsSync } from "node:fs";
import { Worker } from "node:worker_threads";
import { CounterpoiseError, StoppedError } from "../src/foundation/errors.ts";
import type { CheckedCampaign } from "../src/pipeline/checkCampaign.ts";
import { type KeepingWish, usualKeeping } from "../src/pipeline/kept/keeping.ts";
import type { JourneyOptions } from "../src/pipeline/measureCampaign.ts";
import type { JourneyNews, JourneyQuestion } from "./journeyWorker.ts";
import type { JudgedCampaign, ServiceEffects } from "./ServiceEffects.ts";

/** The built worker lies beside the built program; run from its sources, a service evaluates in its own thread. */
const builtWorker = new URL("./journeyWorker.mjs", import.meta.url);

/**
 * The journey in a thread of its own: pages are answered while a campaign is evaluated. Nothing where there is no built worker.
 *
 * The thread has effects and a memory of runs of its own, whatever the options say; only progress comes back. One journey at a time.
 */
export function journeyThread(
  workerFile: URL = builtWorker,
  keeping: KeepingWish = usualKeeping,
): Partial<Pick<ServiceEffects, "judgeCampaign" | "checkCampaign" | "end">> {
  if (!existsSync(workerFile)) return {};
  let worker: Worker | null = null;
  let stopped = false;
  let giveUp: (reason: Error) => void = () => undefined;
  const end = (reason: Error): void => {
    void worker?.terminate();
    worker = null;
    giveUp(reason);
  };
  const ask = <T>(question: JourneyQuestion, { onProgress }: JourneyOptions): Promise<T> =>
    new Promise((resolve, reject) => {
      if (stopped) throw new StoppedError("the service");
      giveUp = reject;
      if (worker === null) {
        const started = new Worker(workerFile);
        started.on("error", end);
        started.on("exit", (code) => {
          if (worker === started) end(new Error(`the thread that evaluates ended with code ${code}`));
        });
        worker = started;
      }
      worker.removeAllListeners("message").on("message", (news: JourneyNews) => {
        if ("progress" in news) onProgress?.(news.progress);
        else if ("result" in news) resolve(news.result as T);
        else if ("fault" in news) reject(new CounterpoiseError(news.fault.code, news.fault.message, news.fault));
        else reject(Object.assign(new Error(news.broken.message), { stack: news.broken.stack }));
      });
      worker.postMessage(question);
    });
  return {
    judgeCampaign: (manifestPath, options) => ask<JudgedCampaign>({ kind: "judge", manifestPath, keeping }, options),
    checkCampaign: (manifestPath, options = {}) =>
      ask<CheckedCampaign>({ kind: "check", manifestPath, keeping }, options),
    end: () => {
      stopped = true;
      end(new StoppedError("the service"));
    },
  };
}
