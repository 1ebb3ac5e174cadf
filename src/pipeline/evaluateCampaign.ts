import { auditCampaign } from "../comparison/audit/auditCampaign.ts";
import { compareCampaign } from "../comparison/compareCampaign.ts";
import { confoundedTrajectories } from "../comparison/confoundedTrajectories.ts";
import { describeConfounding } from "../comparison/describeConfounding.ts";
import { planCampaign } from "../comparison/plan/planCampaign.ts";
import type { Campaign, RunDeclaration } from "../contract/campaign.ts";
import { type CampaignEvaluation, evaluationSchemaNumber, type RunEvaluation } from "../contract/evaluation.ts";
import { defaultSettings, type Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import { deviations, noiseFigures, poolNoise, readStaticCaptures } from "./captureNoise.ts";
import { checkEvaluation } from "./checkEvaluation.ts";
import { type CommonLengths, overCommonLength } from "./commonLength.ts";
import { doubtedOriginals, findCopies } from "./copiedRuns.ts";
import { diskEffects, type Effects } from "./effects.ts";
import { declaredTransforms } from "./fittedList.ts";
import { loadCampaign } from "./loadCampaign.ts";
import { type MeasuredRun, measureOne, type RunJob } from "./measureOne.ts";
import { holdPart } from "./measureRun.ts";
import { noiseCheck } from "./noiseCheck.ts";
import { besideManifest, fromManifest } from "./paths.ts";
import { reasonsOf } from "./reasonsOf.ts";
import { looksOnRecord, readLooks, recordLook } from "./recordLook.ts";
import { settingsOf } from "./settingsOf.ts";
import { version } from "./version.ts";

export interface Progress {
  readonly done: number;
  readonly total: number;
  /** id of the run at hand */
  readonly run: string;
  readonly stage: "captures" | "measuring" | "hashing" | "done";
}

/** How the runs are worked through: in turn, or side by side (`runPool`). Results come in the order of the jobs. */
export type MeasureRuns = (
  jobs: readonly RunJob[],
  effects: Effects,
  onDone: (done: number, run: string) => void,
) => Promise<MeasuredRun[]>;

/** Runs one after the other, in this thread. */
export const inTurn: MeasureRuns = async (jobs, effects, onDone) => {
  const measured: MeasuredRun[] = [];
  for (const job of jobs) {
    onDone(measured.length, job.declaration.id);
    measured.push(await measureOne(job, effects));
  }
  return measured;
};

/**
 * The whole journey: a manifest and its logs in, the evaluation out.
 *
 * One run after the other is read, aligned and measured; its samples are let go before the next, so memory does not
 * grow with the number of runs. A fault of a log makes that run `unusable` and stops no other.
 *
 * The look is counted and added to looks.jsonl beside the manifest (`recordLook`).
 *
 * @param manifestPath  path of campaign.yaml
 * @throws ManifestError  the manifest, its runs.csv, exclusions.yaml or looks.jsonl are at fault
 */
export async function evaluateCampaign(
  manifestPath: string,
  options: {
    onProgress?: (event: Progress) => void;
    effects?: Effects;
    settings?: Settings;
    measureRuns?: MeasureRuns;
    /** false: the look is not counted, for what shows no verdicts; default true */
    look?: boolean;
  } = {},
): Promise<CampaignEvaluation> {
  const effects = options.effects ?? diskEffects;
  const settings = options.settings ?? defaultSettings;
  const tell = (done: number, run: string, stage: Progress["stage"]): void =>
    options.onProgress?.({ done, total: campaign.runs.length, run, stage });
  const { campaign, texts } = await loadCampaign(manifestPath, effects);
  const looks = await readLooks(manifestPath, effects);
  tell(0, "", "captures");
  const captures = await readStaticCaptures(campaign, manifestPath, settings, effects);
  const known = { vehicle: deviations(captures.vehicle), effector: deviations(captures.effector) };
  const measure = options.measureRuns ?? inTurn;
  // begun first and awaited last: hashed in another thread, the logs cost no time
  const listing = (await inputFiles(campaign, manifestPath, texts, effects)).map((file) => withDigest(file, effects));
  const measured = await measure(
    campaign.runs.map((declaration) => ({ campaign, declaration, manifestPath, known, settings })),
    effects,
    (done, run) => tell(done, run, "measuring"),
  );
  tell(measured.length, "", "hashing");
  const inputs = (await Promise.all(listing)).filter((input) => input !== null);
  const judged = assemble(campaign, measured, captures, settings, inputs);
  const looked = options.look === false ? looksOnRecord(looks) : await recordLook(judged, looks, manifestPath, effects);
  const evaluation = {
    ...judged,
    looks: looked,
    audit: auditCampaign(campaign, judged.runs, judged.cells, looked, settings, parametersOf(measured)),
    bench: null,
    costs: null,
  };
  tell(measured.length, "", "done");
  return evaluation;
}

/** Settings of the autopilot by run, of the runs whose logs keep them. */
function parametersOf(measured: readonly MeasuredRun[]): Map<string, ReadonlyMap<string, number>> {
  return new Map(
    measured.flatMap(({ declaration, parameters }) => (parameters === null ? [] : [[declaration.id, parameters]])),
  );
}

function assemble(
  campaign: Campaign,
  measured: readonly MeasuredRun[],
  captures: Awaited<ReturnType<typeof readStaticCaptures>>,
  settings: Settings,
  inputs: CampaignEvaluation["inputs"],
): Omit<CampaignEvaluation, "looks" | "audit" | "bench" | "costs"> {
  const copies = findCopies(
    measured.map((run) => run.fingerprint),
    settings.copied_share,
  );
  const doubted = doubtedOriginals(copies, campaign.runs);
  // a run in millimetres, or of another body, would make the noise of all the others
  const sound = measured.filter(({ checks }) => checks.every(({ severity }) => severity !== "unusable"));
  const inFlight = {
    vehicle: poolNoise(sound.map((run) => run.noise.vehicle)),
    effector: poolNoise(sound.map((run) => run.noise.effector)),
  };
  const noise = noiseFigures(captures, inFlight, campaign.staticCaptures);
  const limits = { vehicle: noise?.vehicle ?? null, effector: noise?.effector ?? null };
  const checked = measured.map((run) => {
    const { id } = run.declaration;
    const copied = [copies.get(id), doubted.get(id)].filter((check) => check !== undefined);
    const checks = [...run.checks, ...copied, ...noiseCheck(run.measures.tracking, limits, settings.noise_ratio)];
    return { run, checks, excluded: whyExcluded(run.declaration, checks) };
  });
  const used = checked.filter(({ excluded }) => excluded === null).map(({ run }) => run);
  const common = commonLengths(campaign, used);
  const runs = withConfounding(
    campaign,
    checked.map(({ run, checks, excluded }) => runEvaluation(run, checks, excluded, common)),
  );
  const cells = compareCampaign(campaign, runs, settings);
  return {
    schema: evaluationSchemaNumber,
    title: campaign.title,
    tool: { name: "counterpoise", version },
    inputs,
    settings: settingsOf(campaign, measured, common, settings),
    fitted: [...declaredTransforms(campaign), ...measured.flatMap((run) => run.fitted)],
    noise,
    runs,
    cells,
    reasons: reasonsOf(campaign, runs, cells, settings),
    plan: planCampaign(campaign, runs, cells, settings),
  };
}

/** Used runs of the judged pair get the check `confounded` where no block of their trajectory holds both configurations. */
function withConfounding(campaign: Campaign, runs: readonly RunEvaluation[]): RunEvaluation[] {
  const judged = runs.filter((run) => run.used);
  const found = new Map(confoundedTrajectories(campaign, judged).map((one) => [one.trajectory, one]));
  return runs.map((run) => {
    const confounded = found.get(run.trajectory);
    const ofPair = run.configuration === campaign.baseline || run.configuration === campaign.candidate;
    if (confounded === undefined || !run.used || !ofPair) return run;
    return { ...run, checks: [...run.checks, checkEvaluation(describeConfounding(campaign, confounded))] };
  });
}

/** Why a run does not count; null where it does. A person's reason stands before the tool's. */
function whyExcluded(declaration: RunDeclaration, checks: readonly Check[]): string | null {
  if (declaration.exclude !== null) return declaration.exclude;
  if (declaration.outcome === "aborted") return "aborted";
  const codes = new Set(checks.filter((check) => check.severity === "unusable").map((check) => check.code));
  return codes.size > 0 ? `unusable: ${[...codes].join(", ")}` : null;
}

/** The smallest number of cycles, and the shortest hold, among a trajectory's used runs. */
function commonLengths(campaign: Campaign, used: readonly MeasuredRun[]): CommonLengths {
  const cycles: Record<string, number | null> = {};
  const hold: Record<string, number | null> = {};
  const least = (values: readonly number[]): number | null => (values.length === 0 ? null : Math.min(...values));
  for (const trajectory of Object.keys(campaign.trajectories)) {
    const runs = used.filter((run) => run.declaration.trajectory === trajectory);
    cycles[trajectory] = least(runs.map((run) => run.cycles.length).filter((count) => count > 0));
    hold[trajectory] = least(runs.flatMap((run) => (run.hold === null ? [] : [run.hold[1] - run.hold[0]])));
  }
  return { cycles, hold };
}

function runEvaluation(
  run: MeasuredRun,
  checks: readonly Check[],
  excluded: string | null,
  common: CommonLengths,
): RunEvaluation {
  const { declaration, measures } = run;
  const { trajectory } = declaration;
  const parts = common.cycles[trajectory] ?? Number.POSITIVE_INFINITY;
  const shortest = common.hold[trajectory] ?? Number.POSITIVE_INFINITY;
  const holdLength = run.hold === null ? 0 : run.hold[1] - run.hold[0];
  // a hold no longer than the shortest is taken whole, its last part included
  const holdParts = holdLength <= shortest + holdPart / 2 ? Number.POSITIVE_INFINITY : Math.floor(shortest / holdPart);
  const { cycles, hold } = measures.tracking;
  return {
    id: declaration.id,
    log: Object.values(declaration.logs).flat(),
    configuration: declaration.configuration,
    trajectory,
    block: declaration.block,
    epoch: run.epoch === null ? null : String(run.epoch),
    used: excluded === null,
    excluded_because: excluded,
    put_back_because: declaration.putBack ?? null,
    outcome: declaration.outcome,
    started: declaration.started === null ? null : String(declaration.started),
    battery: declaration.battery,
    takeoff_mass: declaration.takeoffMass,
    notes: declaration.notes,
    checks: checks.map(checkEvaluation),
    clocks: { ...run.clocks },
    windows: {
      hold: run.hold === null ? null : [...run.hold],
      cycles: run.cycles.map((window) => [...window] as [number, number]),
    },
    period: run.period,
    valid_fraction: measures.valid_fraction,
    tracking: {
      cycles: cycles === null ? null : overCommonLength(cycles, measures.extremes.cycles, parts),
      hold: hold === null ? null : overCommonLength(hold, measures.extremes.hold, holdParts),
    },
    hold: measures.hold,
    attitude: measures.attitude,
    synchronous: measures.synchronous,
    ...run.extras,
    markers: markersOf(run.markers),
    moving: null,
  };
}

function markersOf(fits: MeasuredRun["markers"]): RunEvaluation["markers"] {
  if (fits === null) return null;
  return Object.fromEntries(
    Object.entries(fits).map(([body, { markers, ...counts }]) => [body, { markers: [...markers], ...counts }]),
  );
}

interface InputFile {
  /** relative to the manifest */
  readonly path: string;
  readonly at: string;
  readonly bytes: number;
}

async function inputFiles(
  campaign: Campaign,
  manifestPath: string,
  texts: readonly string[],
  effects: Effects,
): Promise<InputFile[]> {
  const logs = new Set([...campaign.staticCaptures, ...campaign.runs.flatMap((run) => Object.values(run.logs).flat())]);
  const parts = await Promise.all(
    [...logs].map(async (path) => {
      const at = besideManifest(manifestPath, path);
      return (await effects.filesOf(at)).map((file) => ({
        path: file === at ? path : `${path}${file.slice(at.length)}`,
        at: file,
      }));
    }),
  );
  const files = [...texts.map((at) => ({ path: fromManifest(manifestPath, at), at })), ...parts.flat()];
  const found = await Promise.all(
    files.map(async ({ path, at }) => {
      const bytes = await effects.size(at);
      return bytes === null ? null : { path, at, bytes };
    }),
  );
  return found.filter((file) => file !== null);
}

/** Null for a file that may not be read: the run's own check says so. */
async function withDigest(
  { path, at, bytes }: InputFile,
  effects: Effects,
): Promise<CampaignEvaluation["inputs"][number] | null> {
  try {
    return { path, sha256: await effects.sha256(at), bytes };
  } catch {
    return null;
  }
}
