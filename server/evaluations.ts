import type { ServiceState } from "../src/contract/api/messages.ts";
import { askManifest } from "../src/pipeline/answerQuestions.ts";
import type { Effects } from "../src/pipeline/effects.ts";
import { differing, stampsOf } from "../src/pipeline/fileStamp.ts";
import { keptSums } from "../src/pipeline/kept/keptSums.ts";
import { loadCampaign } from "../src/pipeline/loadCampaign.ts";
import type { JourneyOptions } from "../src/pipeline/measureCampaign.ts";
import { besideManifest, fromManifest } from "../src/pipeline/wholeText.ts";
import { readExclusions } from "../src/pipeline/writeExclusions.ts";
import { rememberRuns } from "./rememberRuns.ts";
import { faultOf } from "./requests.ts";
import type { Checked, Judged, Subscriber } from "./Service.ts";
import { logsOf, noticing, type ServiceEffects, stoppable } from "./ServiceEffects.ts";
import { watchFiles } from "./watchFiles.ts";

const lookEvery = 1000;

/** The last good evaluation or check, and how the next one is getting on. */
export interface Evaluations {
  readonly state: () => ServiceState;
  /** null until the first has succeeded; while the service is blind always */
  readonly judged: () => Judged | null;
  /** null until the first has succeeded; in a service that is not blind, or no longer, always */
  readonly checked: () => Checked | null;
  readonly subscribe: (subscriber: Subscriber) => () => void;
  /** Evaluates, after the evaluation that runs where one does; resolves when all that was asked for has ended. */
  readonly evaluate: () => Promise<void>;
  /** Ends being blind with the next evaluation that succeeds, which is begun. */
  readonly open: () => Promise<void>;
  readonly stop: () => Promise<void>;
  /** the disk as evaluations see it: sums of files are kept, and nothing is read once the service has stopped */
  readonly disk: Effects;
}

/**
 * Evaluates a campaign again whenever its files change, one evaluation at a time, and keeps the last good one while a new one
 * is made or where it fails. What changes meanwhile is evaluated after it.
 *
 * @param blind  checks instead of evaluating until it is opened; so it begins with a manifest that leaves places open, too
 */
export function evaluations(manifestPath: string, effects: ServiceEffects, blind: boolean): Evaluations {
  const { stamp } = effects;
  const own = [manifestPath, besideManifest(manifestPath, "exclusions.yaml")];
  let stopped = false;
  let opening = false;
  const { state, report, subscribe, end } = announced(blind);
  let judged: Judged | null = null;
  let checked: Checked | null = null;
  /** the files as they were when the served evaluation was begun */
  let served: ReadonlyMap<string, string> = new Map();
  const disk = stoppable(keptSums(effects.disk, { stamp }).effects, () => stopped);
  const measureRuns = rememberRuns(effects.measureRuns, stamp);

  const hasShown = (): boolean => (judged ?? checked) !== null;
  const changedNow = (stamps: ReadonlyMap<string, string>): Pick<ServiceState, "stale" | "changed"> => {
    const changed = differing(stamps, served).map((path) => fromManifest(manifestPath, path));
    return { changed, stale: changed.length > 0 };
  };
  const watch = watchFiles({
    stamp,
    every: effects.every,
    period: lookEvery,
    onLook: (stamps) => {
      if (work.running() !== null || !hasShown()) return;
      const now = changedNow(stamps);
      if (now.changed.join("\n") !== state().changed.join("\n")) report(now);
    },
    onSettle: () => {
      if (work.running() === null) void work.ask();
    },
  });

  /** Makes the next evaluation of the files that are watched from now on. @param begun  told of their stamps */
  async function make(
    before: ReadonlyMap<string, string>,
    touched: Set<string>,
    begun: (stamps: ReadonlyMap<string, string>) => void,
  ): Promise<void> {
    const { campaign, texts } = await loadCampaign(manifestPath, noticing(disk, touched));
    const exclusions = await readExclusions(manifestPath, disk);
    const beside = texts.map(({ path }) => besideManifest(manifestPath, path));
    const files = new Set([...own, ...beside, ...logsOf(campaign, manifestPath)]);
    // what was known of a file before it was read counts
    const known = [...before].filter(([path]) => files.has(path));
    const stamps = new Map([...(await stampsOf(files, stamp)), ...known]);
    begun(stamps);
    if (hasShown()) report(changedNow(stamps));
    const journey: JourneyOptions = {
      effects: disk,
      measureRuns,
      onProgress: (progress) => report({ progress: { ...progress } }),
    };
    const version = state().version + 1;
    if (state().blind && !opening)
      checked = { version, exclusions, ...(await effects.checkCampaign(manifestPath, journey)) };
    else {
      judged = { version, campaign, exclusions, ...(await effects.judgeCampaign(manifestPath, journey)) };
      checked = null;
    }
    served = stamps;
    report({
      status: "ready",
      blind: judged === null,
      progress: null,
      version,
      evaluated_at: effects.disk.now().toISOString(),
      stale: false,
      changed: [],
      looks: judged?.evaluation.looks.count ?? null,
    });
  }

  async function makeOrFail(): Promise<void> {
    report({ status: "evaluating", progress: null, error: null });
    let stamps: ReadonlyMap<string, string> = await stampsOf([...own, ...served.keys()], stamp);
    const touched = new Set<string>();
    const begun = (found: ReadonlyMap<string, string>): void => {
      stamps = found;
      watch.begun(stamps);
    };
    begun(stamps);
    try {
      await make(stamps, touched, begun);
    } catch (error) {
      // a faulty runs.csv is known only by having been opened, and must be watched to be seen mended
      // likewise looks.jsonl, which is not watched otherwise: the tool itself writes it
      touched.add(besideManifest(manifestPath, "looks.jsonl"));
      watch.begun(new Map([...(await stampsOf(touched, stamp)), ...stamps]));
      // who still fills in a draft has not looked at the set-up: the answer stays closed until it is asked for
      const isBlind = state().blind || (judged === null && (await isUnfinished(manifestPath, disk)));
      report({ status: "failed", blind: isBlind, progress: null, error: faultOf(error) });
    }
  }

  const work = oneAtATime(makeOrFail, () => stopped);
  return {
    state,
    judged: () => judged,
    checked: () => checked,
    subscribe,
    evaluate: work.ask,
    open: () => {
      opening = true;
      return work.ask();
    },
    stop: async () => {
      stopped = true;
      watch.stop();
      end();
      effects.end();
      await work.running();
    },
    disk,
  };
}

/** The state of a service that has just begun, and those who are told of each change of it until the end. */
function announced(blind: boolean) {
  const subscribers = new Set<Subscriber>();
  let ended = false;
  let state: ServiceState = {
    status: "evaluating",
    blind,
    progress: null,
    error: null,
    version: 0,
    evaluated_at: null,
    stale: false,
    changed: [],
    looks: null,
  };
  return {
    state: (): ServiceState => state,
    report: (changes: Partial<ServiceState>): void => {
      state = { ...state, ...changes };
      if (!ended) for (const subscriber of subscribers) subscriber.state(state);
    },
    subscribe: (subscriber: Subscriber) => {
      subscribers.add(subscriber);
      return () => void subscribers.delete(subscriber);
    },
    end: (): void => {
      ended = true;
      for (const subscriber of subscribers) subscriber.end();
      subscribers.clear();
    },
  };
}

/** Does a work once more after the one that runs, however often it is asked for meanwhile. */
function oneAtATime(work: () => Promise<void>, stopped: () => boolean) {
  let again = false;
  let running: Promise<void> | null = null;
  return {
    running: () => running,
    /** resolves when all that was asked for has ended */
    ask: (): Promise<void> => {
      again = true;
      running ??= (async () => {
        try {
          while (again && !stopped()) {
            again = false;
            await work();
          }
        } finally {
          running = null;
        }
      })();
      return running;
    },
  };
}

/** Whether the manifest leaves places open. */
function isUnfinished(manifestPath: string, disk: Effects): Promise<boolean> {
  return askManifest(manifestPath, disk).then(
    ({ questions }) => questions.length > 0,
    () => false,
  );
}
