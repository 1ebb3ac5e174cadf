import { isUntested } from "../catalogue/verdicts.ts";
import { familyPlaces } from "../comparison/cellRuns.ts";
import type { Campaign } from "../contract/campaign.ts";
import type { CampaignEvaluation, RunEvaluation } from "../contract/evaluation.ts";
import type { Look } from "../contract/look.ts";
import { buildText } from "../words/buildText.ts";
import { thisBuild } from "./thisBuild.ts";
import { fingerprintOf } from "./wholeText.ts";

/** Whose looks they are. */
export interface LookedAt {
  readonly campaign: Campaign;
  readonly runs: readonly RunEvaluation[];
  readonly inputs: CampaignEvaluation["inputs"];
  /** file name of the manifest */
  readonly manifest: string;
}

/** Whether verdicts were seen: a set-up in which nothing could be compared has shown none. */
export function verdictsSeen(cells: CampaignEvaluation["cells"]): boolean {
  return cells.some(({ in_family, verdict }) => in_family && verdict !== null && !isUntested(verdict));
}

/**
 * What a look rests on. Another one it is where the used runs change (their logs' content, not their names), how they are filed
 * (configuration, trajectory, block), the measure with its tolerance, the smallest difference, the axes judged in, the family,
 * frames, signals, clocks, trajectories, thresholds or what is accepted; never where a title, a label, a note or a reason does.
 */
export function lookAt({ campaign, runs, inputs, manifest }: LookedAt, at: Date): Look {
  const { baseline, candidate, sham, primary, smallestDifference, tolerance, judgeIn } = campaign;
  const { frames, signals, clocks, trajectories, accept, thresholds } = campaign;
  const roles = new Map([
    [baseline, "baseline"],
    [candidate, "candidate"],
    ...(sham === null ? [] : [[sham, "sham"] as const]),
  ]);
  const filed = runs
    .filter((run) => run.used)
    .map((run) => {
      const { configuration, trajectory, block } = run;
      const { span } = campaign.runs.find(({ id }) => id === run.id) ?? { span: null };
      return JSON.stringify([
        flightOf(run, inputs) ?? run.id,
        span,
        roles.get(configuration) ?? configuration,
        trajectory,
        block,
      ]);
    });
  const rests = [
    filed.sort(),
    primary,
    smallestDifference,
    familyPlaces(campaign),
    frames,
    signals,
    clocks,
    trajectories,
    // named only where declared, so that looks on record from before they were known still hold
    ...declaredOf({
      contrasts: campaign.furtherContrasts ?? null,
      tolerance,
      judgeIn,
      accept: accept.length === 0 ? null : accept.map(({ because: _, ...taken }) => taken),
      thresholds: Object.keys(thresholds).length === 0 ? null : thresholds,
    }),
  ];
  return {
    at: at.toISOString(),
    tool: buildText(thisBuild),
    used: runs.flatMap((run) => (run.used ? [run.id] : [])).sort(),
    primary,
    smallest_difference: { ...smallestDifference },
    manifest,
    flights: flightsOf(runs, inputs),
    grounds: fingerprintOf(JSON.stringify(rests)),
  };
}

function declaredOf(keys: Readonly<Record<string, unknown>>): [string, unknown][] {
  return Object.entries(keys).filter(([, value]) => value !== null);
}

/** Looks at these flights: at some of the same logs, or under the same manifest at runs of the same names. */
export function looksAt(looks: readonly Look[], { runs, inputs, manifest }: LookedAt): Look[] {
  const flights = new Set(flightsOf(runs, inputs));
  const ids = new Set(runs.map(({ id }) => id));
  return looks.filter((look) => {
    if ((look.flights ?? []).some((flight) => flights.has(flight))) return true;
    return (look.manifest ?? manifest) === manifest && (look.used.length === 0 || look.used.some((id) => ids.has(id)));
  });
}

function flightsOf(runs: readonly RunEvaluation[], inputs: LookedAt["inputs"]): string[] {
  return [...new Set(runs.map((run) => flightOf(run, inputs)).filter((flight) => flight !== null))].sort();
}

/** Fingerprint of a run's logs, parts and folders included; null where none could be read. */
function flightOf(run: Pick<RunEvaluation, "log">, inputs: LookedAt["inputs"]): string | null {
  const own = inputs.filter(({ path }) => run.log.some((log) => path === log || path.startsWith(`${log}/`)));
  return own.length === 0
    ? null
    : fingerprintOf(
        own
          .map(({ sha256 }) => sha256)
          .sort()
          .join(),
      );
}
