import { basename } from "node:path";
import type { DecidedStretch } from "../src/alignment/logged/commonStretch.ts";
import type { Campaign } from "../src/contract/campaign.ts";
import type { Exclusion } from "../src/contract/manifest/exclusions.ts";
import { groundsOf } from "../src/contract/runGrounds.ts";
import { settingsFor } from "../src/contract/settings.ts";
import { CounterpoiseError } from "../src/foundation/errors.ts";
import { answerQuestions, askManifest } from "../src/pipeline/answerQuestions.ts";
import { withoutNames } from "../src/pipeline/loadCampaign.ts";
import { alignOneRun } from "../src/pipeline/measureExtras.ts";
import { readExclusions, unknownRun, writeExclusions } from "../src/pipeline/writeExclusions.ts";
import { type Evaluations, evaluations } from "./evaluations.ts";
import { bytesOf, type RunTraces, recentlyUsed, runKey, tracesOf } from "./rememberRuns.ts";
import type { Judged, Service, Shown } from "./Service.ts";
import { type ServiceEffects, serviceEffects } from "./ServiceEffects.ts";

/** aligned runs kept for drawing, and the bytes of their columns: ten minutes at 240 Hz hold some 40 MB */
const mostTraces = 64;
const heaviestTraces = 384 * 2 ** 20;

/**
 * The service behind the dashboard: evaluates, watches the files, takes a person's word on single runs, and keeps the
 * last good evaluation while a new one is made or where it fails.
 *
 * @param manifestPath   path of campaign.yaml
 * @param options.blind  checks instead of evaluating: no difference between configurations is worked out until a person opens the
 *   campaign. So does a service that begins with a manifest that has places left open
 */
export function createService(
  manifestPath: string,
  effects: ServiceEffects = serviceEffects,
  { blind = false }: { readonly blind?: boolean } = {},
): Service {
  const made = evaluations(manifestPath, effects, blind);
  const { state, subscribe, evaluate, disk } = made;
  let writing: Promise<unknown> = Promise.resolve();
  const { judged, shown } = answersOf(made);
  /** as a service that shows configurations under letters may repeat them */
  const repeated = (exclusions: readonly Exclusion[]): readonly Exclusion[] => {
    const checked = made.checked();
    return checked === null ? exclusions : withoutTheirNames(exclusions, checked.campaign);
  };
  /** One change of the files after the other, each followed by an evaluation; a refused one does not stop the next. */
  const write = <T>(change: () => Promise<T>): Promise<T> => {
    const written = writing.then(change);
    writing = written.catch(() => undefined);
    return written.then((result) => {
      void evaluate();
      return result;
    });
  };
  return {
    get blind() {
      return state().blind;
    },
    manifestName: basename(manifestPath),
    state,
    judged,
    checked: () => mustBeThere(made.checked(), made),
    shown,
    hasShown: () => (made.judged() ?? made.checked()) !== null,
    subscribe,
    traces: tracesOfRuns(manifestPath, shown, { stamp: effects.stamp, disk }),
    exclusions: async () => repeated(await readExclusions(manifestPath, disk)),
    decide: async (change) => repeated(await write(() => writeExclusions(manifestPath, change, disk))),
    questions: () => askManifest(manifestPath, disk),
    answer: (given) => write(() => answerQuestions(manifestPath, given, disk)),
    open: () => {
      mustBeThere(made.judged() ?? made.checked(), made);
      void made.open();
    },
    start: evaluate,
    stop: made.stop,
  };
}

/** What the last good evaluation, or check, shows. */
function answersOf(made: Evaluations): Pick<Service, "judged" | "shown"> {
  const judged = (): Judged => {
    if (!made.state().blind) return mustBeThere(made.judged(), made);
    throw new CounterpoiseError("blind", "found a question for the answer, expected one that a check can answer", {
      hint: "this service is blind: it compares nothing. Once set-up and exclusions are right, the page Check opens the answer; so does `counterpoise evaluate`",
    });
  };
  const shown = (): Shown => {
    if (!made.state().blind) {
      const { evaluation, ...rest } = judged();
      return { ...rest, runs: evaluation.runs, settings: evaluation.settings };
    }
    const { version, campaign, exclusions, check } = mustBeThere(made.checked(), made);
    return {
      version,
      campaign,
      exclusions: withoutTheirNames(exclusions, campaign),
      runs: check.runs,
      settings: check.settings,
    };
  };
  return { judged, shown };
}

function mustBeThere<T>(found: T | null, { state }: Evaluations): T {
  if (found !== null) return found;
  const { error } = state();
  throw new CounterpoiseError("not-evaluated", "found no evaluation yet, expected a finished one", {
    hint: error === null ? "it is being made; wait for it" : `the last one failed: ${error.message}`,
  });
}

/** Runs aligned for drawing, the last ones kept. */
function tracesOfRuns(
  manifestPath: string,
  shown: () => Shown,
  { stamp, disk }: Pick<ServiceEffects, "stamp"> & Pick<Evaluations, "disk">,
): Service["traces"] {
  const kept = recentlyUsed<RunTraces>({ most: mostTraces, heaviest: heaviestTraces, weigh: bytesOf });
  return async (run) => {
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
    const stretch: DecidedStretch = { window: first && last ? [first[0], last[1]] : null, checks: [] };
    const judgeIn = settings.judged_in[declaration.trajectory]!.axes;
    const grounds = groundsOf(campaign, declaration);
    const job = { ...grounds, manifestPath, settings: settingsFor(campaign), stretch, judgeIn };
    return kept.get(await runKey(job, stamp), async () => tracesOf((await alignOneRun(job, disk)).aligned));
  };
}

/** A person's reasons, of which none says which configuration a run is of. */
function withoutTheirNames(exclusions: readonly Exclusion[], campaign: Campaign): Exclusion[] {
  return exclusions.map((said) => ({ ...said, reason: withoutNames(said.reason, campaign) }));
}
