import { basename } from "node:path";
import type { Stretch } from "../src/alignment/logged/commonStretch.ts";
import type { ServiceState } from "../src/contract/api/serviceState.ts";
import type { Campaign } from "../src/contract/campaign.ts";
import type { Exclusion } from "../src/contract/manifest/exclusions.ts";
import { defaultSettings } from "../src/contract/settings.ts";
import { CounterpoiseError } from "../src/foundation/errors.ts";
import { alignOneRun } from "../src/pipeline/alignOneRun.ts";
import { withoutNames } from "../src/pipeline/letters.ts";
import { loadCampaign } from "../src/pipeline/loadCampaign.ts";
import type { JourneyOptions } from "../src/pipeline/measureCampaign.ts";
import { besideManifest, fromManifest } from "../src/pipeline/paths.ts";
import { evaluationJson } from "../src/pipeline/writeEvaluation.ts";
import { readExclusions, unknownRun, writeExclusions } from "../src/pipeline/writeExclusions.ts";
import { faultOf } from "./faultOf.ts";
import { differing, stampsOf } from "./fileStamp.ts";
import { bytesOf, type RunTraces, tracesOf } from "./RunTraces.ts";
import { recentlyUsed } from "./recentlyUsed.ts";
import { rememberRuns, rememberSums, runKey } from "./rememberRuns.ts";
import type { Checked, Judged, Service, Shown, Subscriber } from "./Service.ts";
import { type ServiceEffects, serviceEffects } from "./ServiceEffects.ts";
import { logsOf, noticing, stoppable } from "./serviceDisk.ts";
import { watchFiles } from "./watchFiles.ts";

const lookEvery = 1000;
/** aligned runs kept for drawing, and the bytes of their columns: ten minutes at 240 Hz hold some 40 MB */
const mostTraces = 64;
const heaviestTraces = 384 * 2 ** 20;

/**
 * The service behind the dashboard: evaluates, watches the files, takes a person's word on single runs, and keeps the
 * last good evaluation while a new one is made or where it fails. One evaluation at a time; what changes meanwhile is
 * evaluated after it.
 *
 * @param manifestPath   path of campaign.yaml
 * @param options.blind  checks instead of evaluating: no difference between configurations is ever worked out
 */
export function createService(
  manifestPath: string,
  effects: ServiceEffects = serviceEffects,
  { blind = false }: { readonly blind?: boolean } = {},
): Service {
  const { stamp } = effects;
  let stopped = false;
  let state: ServiceState = {
    status: "evaluating",
    progress: null,
    error: null,
    version: 0,
    evaluated_at: null,
    stale: false,
    changed: [],
    looks: null,
  };
  let judged: Judged | null = null;
  let checked: Checked | null = null;
  /** the files as they were when the served evaluation was begun */
  let served: ReadonlyMap<string, string> = new Map();
  let again = false;
  let running: Promise<void> | null = null;
  let writing: Promise<unknown> = Promise.resolve();
  const subscribers = new Set<Subscriber>();
  const disk = stoppable(rememberSums(effects.disk, stamp), () => stopped);
  const measureRuns = rememberRuns(effects.measureRuns, stamp);
  const kept = recentlyUsed<RunTraces>({ most: mostTraces, heaviest: heaviestTraces, weigh: bytesOf });

  const tell = (changes: Partial<ServiceState>): void => {
    state = { ...state, ...changes };
    if (!stopped) for (const subscriber of subscribers) subscriber.state(state);
  };
  const changedNow = (stamps: ReadonlyMap<string, string>): Pick<ServiceState, "stale" | "changed"> => {
    const changed = differing(stamps, served).map((path) => fromManifest(manifestPath, path));
    return { changed, stale: changed.length > 0 };
  };
  const watch = watchFiles({
    stamp,
    every: effects.every,
    period: lookEvery,
    onLook: (stamps) => {
      if (running !== null || (judged ?? checked) === null) return;
      const now = changedNow(stamps);
      if (now.changed.join("\n") !== state.changed.join("\n")) tell(now);
    },
    onSettle: () => {
      if (running === null) void evaluate();
    },
  });

  async function evaluateOnce(): Promise<void> {
    tell({ status: "evaluating", progress: null, error: null });
    const own = [manifestPath, besideManifest(manifestPath, "exclusions.yaml")];
    let stamps = await stampsOf([...own, ...served.keys()], stamp);
    const touched = new Set<string>();
    try {
      watch.begun(stamps);
      const { campaign, texts } = await loadCampaign(manifestPath, noticing(disk, touched));
      const exclusions = await readExclusions(manifestPath, disk);
      const files = new Set([...own, ...texts, ...logsOf(campaign, manifestPath)]);
      const known = new Map([...stamps].filter(([path]) => files.has(path)));
      stamps = new Map([...(await stampsOf(files, stamp)), ...known]);
      watch.begun(stamps);
      if ((judged ?? checked) !== null) tell(changedNow(stamps));
      const journey: JourneyOptions = {
        effects: disk,
        measureRuns,
        onProgress: (progress) => {
          tell({ progress: { ...progress } });
        },
      };
      const version = state.version + 1;
      if (blind) checked = { version, exclusions, ...(await effects.checkCampaign(manifestPath, journey)) };
      else {
        const evaluation = await effects.evaluateCampaign(manifestPath, journey);
        judged = { version, campaign, exclusions, evaluation, json: evaluationJson(evaluation) };
      }
      served = stamps;
      tell({
        status: "ready",
        progress: null,
        version,
        evaluated_at: effects.disk.now().toISOString(),
        stale: false,
        changed: [],
        looks: judged?.evaluation.looks.count ?? null,
      });
    } catch (error) {
      // a faulty runs.csv is known only by having been opened, and must be watched to be seen mended
      // likewise looks.jsonl, which is not watched otherwise: the tool itself writes it
      touched.add(besideManifest(manifestPath, "looks.jsonl"));
      watch.begun(new Map([...(await stampsOf(touched, stamp)), ...stamps]));
      tell({ status: "failed", progress: null, error: faultOf(error) });
    }
  }

  function evaluate(): Promise<void> {
    again = true;
    running ??= (async () => {
      try {
        while (again && !stopped) {
          again = false;
          await evaluateOnce();
        }
      } finally {
        running = null;
      }
    })();
    return running;
  }

  const mustBeThere = <T>(made: T | null): T => {
    if (made !== null) return made;
    throw new CounterpoiseError("not-evaluated", "found no evaluation yet, expected a finished one", {
      hint: state.error === null ? "it is being made; wait for it" : `the last one failed: ${state.error.message}`,
    });
  };

  const mustBeJudged = (): Judged => {
    if (!blind) return mustBeThere(judged);
    throw new CounterpoiseError("blind", "found a question for the answer, expected one that a check can answer", {
      hint: "this service is blind: it compares nothing. `counterpoise evaluate` opens the campaign; `counterpoise serve` without --blind shows it",
    });
  };
  const shown = (): Shown => {
    if (!blind) {
      const { evaluation, ...rest } = mustBeThere(judged);
      return { ...rest, runs: evaluation.runs, settings: evaluation.settings };
    }
    const { version, campaign, exclusions, check } = mustBeThere(checked);
    return {
      version,
      campaign,
      exclusions: withoutTheirNames(exclusions, campaign),
      runs: check.runs,
      settings: check.settings,
    };
  };

  return {
    blind,
    manifestName: basename(manifestPath),
    state: () => state,
    judged: mustBeJudged,
    checked: () => mustBeThere(checked),
    shown,
    hasShown: () => (judged ?? checked) !== null,
    subscribe: (subscriber) => {
      subscribers.add(subscriber);
      return () => void subscribers.delete(subscriber);
    },
    traces: async (run) => {
      const { campaign, runs, settings } = shown();
      const declaration = campaign.runs.find(({ id }) => id === run);
      if (declaration === undefined) {
        throw unknownRun(
          run,
          campaign.runs.map(({ id }) => id),
        );
      }
      const [first, last] = [0, -1].map((at) => runs.find(({ id }) => id === run)?.windows.cycles.at(at));
      // what was decided over all runs of the trajectory is not to be seen in one
      const stretch: Stretch = { window: first && last ? [first[0], last[1]] : null, checks: [], words: "" };
      const judgeIn = settings.judged_in[declaration.trajectory]!.axes;
      const job = { campaign, declaration, manifestPath, settings: defaultSettings, stretch, judgeIn };
      return kept.get(await runKey(job, stamp), async () => tracesOf((await alignOneRun(job, disk)).aligned));
    },
    exclusions: async () => {
      const said = await readExclusions(manifestPath, disk);
      return checked === null ? said : withoutTheirNames(said, checked.campaign);
    },
    decide: (change) => {
      const written = writing.then(() => writeExclusions(manifestPath, change, disk));
      // a refused change does not stop the next
      writing = written.catch(() => undefined);
      return written.then((exclusions) => {
        void evaluate();
        return checked === null ? exclusions : withoutTheirNames(exclusions, checked.campaign);
      });
    },
    start: evaluate,
    stop: async () => {
      stopped = true;
      watch.stop();
      for (const { end } of subscribers) end();
      subscribers.clear();
      await running;
    },
  };
}

/** A person's reasons, of which none says which configuration a run is of. */
function withoutTheirNames(exclusions: readonly Exclusion[], campaign: Campaign): Exclusion[] {
  return exclusions.map((said) => ({ ...said, reason: withoutNames(said.reason, campaign) }));
}
