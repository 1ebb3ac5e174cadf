import type { Campaign } from "../../contract/campaign.ts";
import type { CostConfiguration, CostFigure, Costs } from "../../contract/costs.ts";
import type { Settings } from "../../contract/settings.ts";
import {
  type CostRun,
  declaredFigure,
  inertiaOf,
  ledgerOf,
  movedOf,
  rotorsOf,
  takeoffMass,
  thrustLeft,
  thrustToWeight,
} from "./configurationCosts.ts";
import { costFindings } from "./costFindings.ts";
import { largestMass } from "./largestMass.ts";
import {
  armEffort,
  type Base,
  discOf,
  enduranceOf,
  inverse,
  measuredOutput,
  powerOf,
  powerRatio,
} from "./powerCosts.ts";

/**
 * What the mass costs, per configuration: thrust to weight, hover power, endurance, loads of the rotors, authority and inertia,
 * each measured, by law or declared; what speaks against them, what is missing, and the largest mass that declared limits allow.
 *
 * Nothing here is a verdict. Power is measured where logs carry volts and amperes in hold windows, the run as the unit; where a
 * configuration has none, by the law from the measured baseline, else from the rotors' area.
 *
 * @param runs  all runs; those with `used` count
 * @returns null where the baseline's mass is not known, or nothing but masses is declared or logged
 */
export function campaignCosts(campaign: Campaign, runs: readonly CostRun[], settings: Settings): Costs | null {
  const { baseline } = campaign;
  const masses = Object.fromEntries(
    Object.keys(campaign.configurations).map((name) => [name, takeoffMass(campaign, name, runs, settings)]),
  );
  const lightest = masses[baseline] ?? null;
  if (lightest === null || !hasSomething(campaign, runs)) return null;
  const base = { mass: lightest, power: powerOf(campaign, baseline, lightest, runs, null, settings) };
  const configurations = Object.fromEntries(
    Object.entries(masses).map(([name, mass]) => [
      name,
      finiteOnly(costsOf(campaign, name, { mass, base, runs }, settings)),
    ]),
  );
  const breakEven = largestMass(campaign, { mass: lightest, endurance: configurations[baseline]!.endurance }, settings);
  return {
    air_density: campaign.airDensity ?? settings.cost_air_density,
    air_declared: campaign.airDensity !== undefined,
    configurations,
    findings: costFindings({ campaign, runs, configurations, breakEven, settings }),
    missing: missingOf(campaign, configurations),
    break_even: breakEven,
  };
}

function hasSomething({ vehicle, battery, limits }: Campaign, runs: readonly CostRun[]): boolean {
  const disc = vehicle?.rotors != null && vehicle.rotorDiameter !== null;
  return (
    disc ||
    vehicle?.maxThrust != null ||
    vehicle?.inertia !== undefined ||
    battery !== undefined ||
    limits !== undefined ||
    runs.some(
      ({ used, power, outputs, effort }) =>
        used && (power?.mean != null || outputs !== undefined || effort !== undefined),
    )
  );
}

function costsOf(
  campaign: Campaign,
  name: string,
  { mass, base, runs }: { mass: CostFigure | null; base: Base; runs: readonly CostRun[] },
  settings: Settings,
): CostConfiguration {
  const inertia = inertiaOf(campaign, name);
  if (mass === null) return { ...nothing, inertia, moved: movedOf(campaign, name, null, settings) };
  const left = thrustLeft(campaign, settings);
  const full = left && thrustToWeight(declaredFigure(left.full, null), mass);
  const end = left?.end ? thrustToWeight(left.end, mass) : null;
  const power = powerOf(campaign, name, mass, runs, base, settings);
  const disc = discOf(campaign, mass, settings);
  const flies = full === null || full.value >= 1;
  const isBaseline = name === campaign.baseline;
  const ratio =
    isBaseline || !flies ? null : powerRatio(campaign, name, runs, { own: mass, baseline: base.mass }, settings);
  const current = meanOf(
    runs.flatMap((run) => (run.used && run.configuration === name ? (run.power?.current ?? []) : [])),
  );
  return {
    takeoff_mass: mass,
    ledger: ledgerOf(campaign, name, mass),
    thrust_to_weight: full,
    thrust_to_weight_end: end,
    disc_loading: disc?.loading ?? null,
    hover_power: power,
    hover_power_ideal: disc?.ideal ?? null,
    hover_output: measuredOutput(runs, name, "mean", settings),
    hover_output_highest: measuredOutput(runs, name, "highest", settings),
    ...armEffort(campaign, name, runs, settings),
    power_ratio: ratio,
    endurance: flies ? enduranceOf(campaign, power, settings) : null,
    endurance_ratio: ratio && inverse(ratio, 1),
    ...rotorsOf(campaign, name, mass.value, inertia),
    inertia,
    moved: movedOf(campaign, name, current, settings),
  };
}

/** A rotor of a nanometre, a battery of a joule: what no number holds is left out. */
function finiteOnly(found: CostConfiguration): CostConfiguration {
  const holds = (value: unknown): boolean =>
    typeof value === "number"
      ? Number.isFinite(value)
      : typeof value !== "object" || value === null || Object.values(value).every(holds);
  const kept = Object.entries(found).map(([key, value]) => [
    key,
    holds(value) ? value : Array.isArray(value) ? [] : null,
  ]);
  return Object.fromEntries(kept) as CostConfiguration;
}

const nothing: Omit<CostConfiguration, "inertia" | "moved"> = {
  takeoff_mass: null,
  ledger: null,
  thrust_to_weight: null,
  thrust_to_weight_end: null,
  disc_loading: null,
  hover_power: null,
  hover_power_ideal: null,
  hover_output: null,
  hover_output_highest: null,
  arm_effort: null,
  arm_effort_ratio: null,
  power_ratio: null,
  endurance: null,
  endurance_ratio: null,
  rotor_loads: null,
  angular_acceleration: null,
};

function meanOf(values: readonly number[]): number | null {
  return values.length === 0 ? null : values.reduce((sum, value) => sum + value, 0) / values.length;
}

/** Figures that no configuration has, each with the inputs that it takes and the manifest does not declare. */
function missingOf(campaign: Campaign, configurations: Costs["configurations"]): Costs["missing"] {
  const { vehicle, battery } = campaign;
  const all = Object.values(configurations);
  const none = (key: keyof CostConfiguration): boolean => all.every((found) => found[key] === null);
  const lacking = (asked: readonly (readonly [boolean, string])[]): string =>
    asked.flatMap(([there, words]) => (there ? [] : [`\`${words}\``])).join(", ");
  const thrust = [vehicle?.maxThrust != null, "vehicle: max_thrust"] as const;
  const rotors = [vehicle?.rotors != null, "vehicle: rotors"] as const;
  const diameter = [vehicle?.rotorDiameter != null, "vehicle: rotor_diameter"] as const;
  const radius = [vehicle?.rotorRadius !== undefined, "vehicle: rotor_radius"] as const;
  const inertia = [vehicle?.inertia !== undefined, "vehicle: inertia"] as const;
  const missing: Costs["missing"] = [];
  const add = (key: keyof CostConfiguration, what: string, needs: string): void => {
    if (none(key) && needs !== "") missing.push({ what, needs });
  };
  add("thrust_to_weight", "thrust to weight", lacking([thrust]));
  add(
    "thrust_to_weight_end",
    "thrust to weight at the end of the battery",
    lacking([
      thrust,
      [battery?.full != null || vehicle?.maxThrustAt !== undefined, "battery: full"],
      [battery?.end != null || vehicle?.maxThrustAt !== undefined, "battery: end"],
    ]),
  );
  add("hover_power", "hover power", `a logged current, or ${lacking([rotors, diameter])}`);
  add("endurance", "endurance in hover", lacking([[battery?.energy != null, "battery: energy"]]));
  const few = vehicle?.rotors != null && vehicle.rotors / (vehicle.coaxial ? 2 : 1) < 3;
  add("rotor_loads", "loads of the rotors", few ? "3 places or more, evenly on a circle" : lacking([rotors, radius]));
  add("angular_acceleration", "attitude authority", lacking([thrust, rotors, radius, inertia]));
  const unplaced = Object.entries(configurations).filter(([, found]) => found.inertia === null);
  if (unplaced.length > 0 && vehicle?.mass != null)
    missing.push({
      what: "change of inertia",
      needs: `places of what is added, \`counterweights\` of ${unplaced.map(([name]) => name).join(", ")}`,
    });
  return missing;
}
