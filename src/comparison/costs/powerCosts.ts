import type { Campaign } from "../../contract/campaign.ts";
import type { CostFigure } from "../../contract/costs.ts";
import type { Settings } from "../../contract/settings.ts";
import { standardGravity } from "../../foundation/units.ts";
import { mean } from "../../numeric/descriptive.ts";
import { runValues } from "../cellRuns.ts";
import { estimateDifference } from "../estimateDifference.ts";
import { groupSums } from "../permutationSums.ts";
import { ratioInterval } from "../ratioInterval.ts";
import { type CostRun, endsOf, lawFigure, measuredFigure, type Range } from "./configurationCosts.ts";
import { discArea, idealHoverPower, usableEnergy } from "./hoverLaw.ts";

/** Disc loading and ideal power of a mass; null where rotors or their diameter are not declared. */
export function discOf(
  campaign: Campaign,
  mass: CostFigure,
  settings: Settings,
): { loading: number; ideal: number; law: CostFigure } | null {
  const { rotors = null, rotorDiameter: diameter = null, coaxial = false } = campaign.vehicle ?? {};
  if (rotors === null || diameter === null) return null;
  const area = discArea(rotors, diameter, coaxial);
  const density = campaign.airDensity ?? settings.cost_air_density;
  const ideal = (kilograms: number): number => idealHoverPower(kilograms * standardGravity, area, density);
  const [light, heavy] = endsOf(mass);
  const { cost_efficiency: usual, cost_efficiency_least: least, cost_efficiency_most: most } = settings;
  return {
    loading: (mass.value * standardGravity) / area,
    ideal: ideal(mass.value),
    law: lawFigure(ideal(mass.value) / usual, [ideal(light) / most, ideal(heavy) / least]),
  };
}

/** Power in hover as measured: one number a run; null where no used run has one. */
export function measuredPower(runs: readonly CostRun[], name: string, settings: Settings): CostFigure | null {
  const values = powers(runs, name).map(({ value }) => value);
  return values.length === 0 ? null : measuredFigure(values, settings.interval_level);
}

/** Output of the motors in hover, their mean or that of the highest; null where no used run has one. */
export function measuredOutput(
  runs: readonly CostRun[],
  name: string,
  which: "mean" | "highest",
  settings: Settings,
): CostFigure | null {
  const values = runs.flatMap(({ used, configuration, outputs }) =>
    used && configuration === name && outputs !== undefined ? [outputs[which]] : [],
  );
  return values.length === 0 ? null : measuredFigure(values, settings.interval_level);
}

function powers(runs: readonly CostRun[], name: string): RunNumber[] {
  return runs.flatMap(({ used, configuration, block, power }) =>
    used && configuration === name && power?.mean != null ? [{ value: power.mean, block }] : [],
  );
}

type RunNumber = { readonly value: number; readonly block: string | null };

/** A measured ratio of two configurations, within blocks as cells are, by Fieller's method; null where one has no run. */
function ratioOverRuns(of: readonly RunNumber[], to: readonly RunNumber[], settings: Settings): CostFigure | null {
  if (of.length === 0 || to.length === 0) return null;
  const columns = runValues([
    ...to.map((run) => ({ ...run, candidate: false })),
    ...of.map((run) => ({ ...run, candidate: true })),
  ]);
  const estimate = estimateDifference(columns);
  const share = estimate === null ? null : ratioInterval(groupSums(columns), estimate, settings.interval_level);
  const plain = mean(Float64Array.from(of, ({ value }) => value)) / mean(Float64Array.from(to, ({ value }) => value));
  return {
    value: share?.ratio == null ? plain : 1 + share.ratio,
    ci95: share?.interval ? [1 + share.interval[0], 1 + share.interval[1]] : null,
    range: null,
    source: "measured",
  };
}

/**
 * Effort of the arm, and over the baseline's. Trajectories ask different efforts: they are the blocks of the ratio.
 *
 * @returns nulls where no used run of the configuration has one
 */
export function armEffort(
  campaign: Campaign,
  name: string,
  runs: readonly CostRun[],
  settings: Settings,
): { readonly arm_effort: CostFigure | null; readonly arm_effort_ratio: CostFigure | null } {
  const efforts = (configuration: string): RunNumber[] =>
    runs.flatMap((run) =>
      run.used && run.configuration === configuration && run.effort !== undefined
        ? [{ value: run.effort, block: JSON.stringify([run.trajectory, run.block]) }]
        : [],
    );
  const own = efforts(name);
  if (own.length === 0) return { arm_effort: null, arm_effort_ratio: null };
  return {
    arm_effort: measuredFigure(
      own.map(({ value }) => value),
      settings.interval_level,
    ),
    arm_effort_ratio: name === campaign.baseline ? null : ratioOverRuns(own, efforts(campaign.baseline), settings),
  };
}

/** Power over the baseline's: measured over runs (within blocks as cells are), else by mass to 1.5. */
export function powerRatio(
  campaign: Campaign,
  name: string,
  runs: readonly CostRun[],
  masses: { own: CostFigure; baseline: CostFigure },
  settings: Settings,
): CostFigure {
  const measured = ratioOverRuns(powers(runs, name), powers(runs, campaign.baseline), settings);
  if (measured !== null) return measured;
  const [light, heavy] = endsOf(masses.own);
  const [least, most] = endsOf(masses.baseline);
  return lawFigure((masses.own.value / masses.baseline.value) ** 1.5, [(light / most) ** 1.5, (heavy / least) ** 1.5]);
}

/** One over a figure, times a number: endurance from power. An interval of power that reaches 0 bounds no endurance. */
export function inverse(figure: CostFigure, times: number): CostFigure {
  const turned = (ends: Range | null): [number, number] | null =>
    ends === null || ends[0] <= 0 ? null : [times / ends[1], times / ends[0]];
  return { ...figure, value: times / figure.value, ci95: turned(figure.ci95), range: turned(figure.range) };
}

/** Endurance from power; null where no energy is declared. */
export function enduranceOf(campaign: Campaign, power: CostFigure | null, settings: Settings): CostFigure | null {
  const energy = usableEnergy(campaign.battery, settings.cost_usable);
  return power === null || energy === null ? null : inverse(power, energy);
}

/** The baseline's mass and power. */
export interface Base {
  readonly mass: CostFigure;
  readonly power: CostFigure | null;
}

/** Power as measured; else by law from the measured baseline; else from the rotors' area. */
export function powerOf(
  campaign: Campaign,
  name: string,
  mass: CostFigure,
  runs: readonly CostRun[],
  base: Base | null,
  settings: Settings,
): CostFigure | null {
  const measured = measuredPower(runs, name, settings);
  if (measured !== null) return measured;
  if (base?.power?.source === "measured") {
    const share = (own: number, other: number): number => (own / other) ** 1.5;
    const [low, high] = endsOf(base.power);
    const [light, heavy] = endsOf(mass);
    const [least, most] = endsOf(base.mass);
    const value = base.power.value * share(mass.value, base.mass.value);
    return lawFigure(value, [low * share(light, most), high * share(heavy, least)]);
  }
  return discOf(campaign, mass, settings)?.law ?? null;
}
