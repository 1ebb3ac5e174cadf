import type { Campaign } from "../../contract/campaign.ts";
import type { RunEvaluation } from "../../contract/evaluation.ts";
import { expectedMovingMass } from "../../contract/ledger.ts";
import type { MovingEffect } from "../../contract/reasons.ts";
import type { Settings } from "../../contract/settings.ts";
import { mean, sampleStandardDeviation } from "../../numeric/descriptive.ts";
import { normalQuantile } from "../../numeric/normal.ts";
import { runValues } from "../cellRuns.ts";
import { criticalValue } from "../decideVerdict.ts";
import { differenceInterval, estimateDifference } from "../estimateDifference.ts";
import { groupSums } from "../permutationSums.ts";
import { ratioInterval } from "../ratioInterval.ts";
import { type MovingConfiguration, type MovingRun, momentChecks, movingBudget } from "./movingBudget.ts";
import { remainingWeight } from "./remainingWeight.ts";

const horizontal = ["x", "y"] as const;

/**
 * What moves, as flown: the runs' apparent moving masses by trajectory, horizontal axis and harmonic. Per configuration the mean
 * over runs with its t interval; each configuration against the baseline as the cells are (within blocks where these hold both),
 * the ratio by Fieller's method. The run is the unit; what the sums within a run say of their noise enters nothing here.
 *
 * @param runs  of the whole campaign; those not used are left out
 * @returns in the campaign's order of trajectories; where the baseline or the candidate has a run
 */
export function movingEffects(campaign: Campaign, runs: readonly RunEvaluation[], settings: Settings): MovingEffect[] {
  const places = Object.keys(campaign.trajectories).flatMap((trajectory) => {
    const own = runs.filter((run) => run.used && run.trajectory === trajectory && run.moving !== null);
    return horizontal.flatMap((axis) =>
      Array.from({ length: settings.harmonics }, (_, h): MovingPlace => ({ trajectory, axis, k: h + 1, own })),
    );
  });
  const means = places.reduce((sum, place) => sum + new Set(found(place).map(({ run }) => run.configuration)).size, 0);
  const phaseLevel = 1 - (1 - settings.moving_phase_level) / Math.max(1, means);
  return places.map((place) => effectOf(campaign, place, phaseLevel, settings)).filter((effect) => effect !== null);
}

/** One axis at one harmonic of a trajectory, with the trajectory's used runs that have a moving moment. */
interface MovingPlace {
  readonly trajectory: string;
  readonly axis: "x" | "y";
  readonly k: number;
  readonly own: readonly RunEvaluation[];
}

/** The runs in which the arm travels along the axis at the harmonic. */
function found({ axis, k, own }: MovingPlace): Pick<MovingRun, "run" | "figures">[] {
  return own.flatMap((run) => {
    const figures = run.moving![axis]?.find((one) => one.k === k);
    return figures === undefined ? [] : [{ run, figures }];
  });
}

function effectOf(campaign: Campaign, place: MovingPlace, phaseLevel: number, settings: Settings): MovingEffect | null {
  const { trajectory, axis, k } = place;
  const seen = found(place);
  const { baseline, candidate, sham } = campaign;
  if (!seen.some(({ run }) => run.configuration === baseline || run.configuration === candidate)) return null;
  // one unit for all: kilograms where every mass is known
  const unit = seen.every(({ figures }) => figures.apparent_mass !== null) ? "kg" : "1";
  const flown = seen.map(({ run, figures }): MovingRun => {
    const value = unit === "kg" ? figures.apparent_mass! : figures.share;
    return { run, figures, value: [value[0], value[1]] };
  });
  const names = [
    ...new Set([baseline, candidate, ...(sham === null ? [] : [sham]), ...Object.keys(campaign.configurations)]),
  ];
  const configurations: Record<string, MovingConfiguration> = {};
  for (const name of names) {
    const runs = flown.filter(({ run }) => run.configuration === name);
    if (runs.length === 0) continue;
    configurations[name] = configurationOf(campaign, runs, { name, axis, unit, phaseLevel }, settings);
  }
  for (const [name, each] of Object.entries(configurations)) {
    const most = expectedMovingMass(campaign, name, axis === "x" ? 0 : 1, settings.moving_mass_error)?.most ?? null;
    // a candidate need not list its counterweights
    const bare =
      (name === baseline || name === sham) && (campaign.configurations[name]?.counterweights.length ?? 0) === 0;
    const checked = momentChecks(each, configurations[baseline] ?? null, { axis, unit, most, bare }, settings);
    configurations[name] = { ...each, checks: checked };
  }
  const contrasts: MovingEffect["contrasts"] = {};
  for (const name of Object.keys(configurations)) {
    if (name === baseline || configurations[baseline] === undefined) continue;
    contrasts[name] = contrastOf(campaign, flown, { name, unit }, configurations, settings);
  }
  const effect = { trajectory, axis, harmonic: k, unit, configurations, contrasts } as const;
  return {
    ...effect,
    remaining: remainingWeight(campaign, effect),
    budget: movingBudget(
      campaign,
      flown.filter(({ run }) => run.configuration === baseline),
      unit,
      settings,
    ),
  };
}

function configurationOf(
  campaign: Campaign,
  runs: readonly MovingRun[],
  { name, axis, unit, phaseLevel }: { name: string; axis: "x" | "y"; unit: "kg" | "1"; phaseLevel: number },
  settings: Settings,
): MovingConfiguration {
  const [real, imaginary] = [0, 1].map((part) => Float64Array.from(runs, ({ value }) => value[part as 0 | 1])) as [
    Float64Array,
    Float64Array,
  ];
  const expected = expectedMovingMass(campaign, name, axis === "x" ? 0 : 1, settings.moving_mass_error);
  const masses = runs.flatMap(({ run }) => run.moving!.mass ?? []);
  return {
    n: runs.length,
    mean: mean(real),
    sd: runs.length < 2 ? null : sampleStandardDeviation(real),
    ci95: meanInterval(real, settings.interval_level),
    imaginary: mean(imaginary),
    imaginary_ci: noiseInterval(runs, mean(imaginary), unit, phaseLevel) ?? meanInterval(imaginary, phaseLevel),
    expected: expected?.value ?? null,
    expected_se: expected?.se ?? null,
    mass: masses.length < runs.length ? null : mean(Float64Array.from(masses)),
    values: [...real],
    runs: runs.map(({ run }) => run.id),
    checks: [],
  };
}

/**
 * Interval of the mean imaginary part from the noise within the runs. No mass makes such a part: in sound runs it is noise alone,
 * whose variance each run's own sums beside the harmonic give. Over four runs the scatter between them would need twice the
 * fault: Student's t of 3 degrees of freedom at this level is 7 to 9, the normal deviate 3.
 *
 * @returns null where a run's own variance is not known
 */
function noiseInterval(
  runs: readonly MovingRun[],
  centre: number,
  unit: "kg" | "1",
  level: number,
): [number, number] | null {
  let variance = 0;
  for (const { run, figures } of runs) {
    if (figures.share_variance === null) return null;
    variance += figures.share_variance * (unit === "kg" ? run.moving!.mass! : 1) ** 2;
  }
  const half = (-normalQuantile((1 - level) / 2) * Math.sqrt(variance)) / runs.length;
  return half > 0 ? [centre - half, centre + half] : null;
}

/** Student's interval of a mean; null with fewer than two values or no spread. */
export function meanInterval(values: Float64Array, level: number): [number, number] | null {
  if (values.length < 2) return null;
  const half =
    (criticalValue((1 - level) / 2, values.length - 1) * sampleStandardDeviation(values)) / Math.sqrt(values.length);
  const centre = mean(values);
  return half > 0 ? [centre - half, centre + half] : null;
}

function contrastOf(
  campaign: Campaign,
  flown: readonly MovingRun[],
  { name, unit }: { name: string; unit: "kg" | "1" },
  configurations: MovingEffect["configurations"],
  settings: Settings,
): MovingEffect["contrasts"][string] {
  const { baseline } = campaign;
  const pair = flown.filter(({ run }) => run.configuration === baseline || run.configuration === name);
  const columns = runValues(
    pair.map(({ run, value }) => ({ value: value[0], block: run.block, candidate: run.configuration === name })),
  );
  const estimate = estimateDifference(columns);
  const [of, to] = [configurations[name]!, configurations[baseline]!];
  const expected = of.expected !== null && to.expected ? of.expected / to.expected : null;
  // shares of different wholes are no ratio of what moves
  const comparable = unit === "kg" || (campaign.configurations[name]?.addedMass ?? null) === 0;
  const share = estimate === null ? null : ratioInterval(groupSums(columns), estimate, settings.interval_level);
  const plain = to.mean === 0 ? null : of.mean / to.mean;
  return {
    difference: {
      value: estimate?.difference ?? of.mean - to.mean,
      ci95: estimate === null ? null : differenceInterval(estimate, settings.interval_level),
    },
    ratio: {
      value: !comparable ? null : share?.ratio == null ? plain : 1 + share.ratio,
      ci95: comparable && share?.interval ? [1 + share.interval[0], 1 + share.interval[1]] : null,
      expected,
    },
  };
}
