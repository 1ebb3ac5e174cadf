import type { Campaign, RunDeclaration } from "../contract/campaign.ts";
import { contrastsOf } from "../contract/campaignParts.ts";
import type { CampaignEvaluation, RunEvaluation, SubjectTracking } from "../contract/evaluation.ts";
import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import { type Axis, axes } from "../foundation/tracks.ts";
import { bodiesTogether } from "./bodiesTogether.ts";
import { noiseFigures, poolNoise, type readStaticCaptures } from "./captureNoise.ts";
import { type CommonLengths, overCommonLength } from "./commonLength.ts";
import { doubtedOriginals, findCopies } from "./copiedRuns.ts";
import { delaysApart } from "./delaysApart.ts";
import { headingCheck, type JudgedAxes } from "./judgedAxes.ts";
import type { MeasuredRun } from "./measureOne.ts";
import { holdPart } from "./measureRun.ts";
import { noiseApart } from "./noiseApart.ts";
import { stepsWithConfiguration } from "./stepsWithConfiguration.ts";
import { checkEvaluation } from "./writeEvaluation.ts";

/** The runs as the evaluation shows them, and what several of them had to be seen together for. */
export interface GradedRuns {
  readonly runs: readonly RunEvaluation[];
  readonly noise: CampaignEvaluation["noise"];
  readonly common: CommonLengths;
  readonly judged: JudgedAxes;
}

/**
 * What it takes all measured runs to say of each: copies, noise, which of them count, and the extremes over the length they
 * have in common. Nothing here sets one configuration against another.
 */
export function gradeRuns(
  campaign: Campaign,
  measured: readonly MeasuredRun[],
  judged: JudgedAxes,
  captures: Awaited<ReturnType<typeof readStaticCaptures>>,
  settings: Settings,
): GradedRuns {
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
    const checks = [
      ...run.checks,
      ...copied,
      ...noiseCheck(run.measures.tracking, limits, settings.noise_ratio),
      ...headingCheck(run, judged, settings),
    ];
    return { run, checks, excluded: whyExcluded(run.declaration, checks) };
  });
  const used = checked.filter(({ excluded }) => excluded === null).map(({ run }) => run);
  const common = commonLengths(campaign, used);
  const apart = [
    ...[bodiesTogether, delaysApart, noiseApart].map((find) => find(campaign, used, settings)),
    ...contrastsOf(campaign).map((pair) => stepsWithConfiguration(pair, used, settings)),
  ];
  const runs = checked.map(({ run, checks, excluded }) =>
    runEvaluation(run, [...checks, ...apart.flatMap((found) => found.get(run.declaration.id) ?? [])], excluded, common),
  );
  return { runs, noise, common, judged };
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
    heading: run.heading && { ...run.heading, taken_out: run.judgedIn === "heading" ? run.heading.yaw : null },
    period: run.period,
    valid_fraction: measures.valid_fraction,
    tracking: {
      cycles: cycles === null ? null : overCommonLength(cycles, measures.extremes.cycles, parts),
      hold: hold === null ? null : overCommonLength(hold, measures.extremes.hold, holdParts),
    },
    hold: measures.hold,
    attitude: measures.attitude,
    synchronous: measures.synchronous,
    within: measures.within,
    ...run.extras,
    markers: markersOf(run.markers),
  };
}

function markersOf(fits: MeasuredRun["markers"]): RunEvaluation["markers"] {
  if (fits === null) return null;
  return Object.fromEntries(
    Object.entries(fits).map(([body, { markers, ...counts }]) => [body, { markers: [...markers], ...counts }]),
  );
}

/** `at-noise`: axes on which a run's rms is less than `ratio` noise sd, so that what is scored is mostly the capture. */
function noiseCheck(
  tracking: RunEvaluation["tracking"],
  noise: { vehicle: Readonly<Record<Axis, number>> | null; effector: Readonly<Record<Axis, number>> | null },
  ratio: number,
): Check[] {
  const scored: SubjectTracking | null = tracking.cycles ?? tracking.hold;
  if (scored === null) return [];
  const low: string[] = [];
  const evidence: Record<string, number> = {};
  for (const body of ["vehicle", "effector"] as const) {
    const figures = scored[body];
    const sd = noise[body];
    if (!figures || sd === null) continue;
    for (const axis of axes) {
      if (figures[axis].rms >= ratio * sd[axis]) continue;
      low.push(`${body} ${axis}`);
      evidence[`${body}_${axis}_rms_m`] = figures[axis].rms;
      evidence[`${body}_${axis}_noise_m`] = sd[axis];
    }
  }
  if (low.length === 0) return [];
  return [
    {
      code: "at-noise",
      severity: "note",
      message: `rms below ${ratio} times the measurement noise: ${low.join(", ")}`,
      evidence,
      hint: "a difference there says more about the capture than about the vehicle",
    },
  ];
}
