import type { Campaign, Counterweight } from "../../contract/campaign.ts";
import type { CostFigure, Costs } from "../../contract/costs.ts";
import { addedMassOf } from "../../contract/ledger.ts";
import type { Settings } from "../../contract/settings.ts";
import { standardGravity } from "../../foundation/units.ts";
import { inertiaOf, rotorsOf, thrustLeft } from "./configurationCosts.ts";
import { enduranceAsBattery, massForEndurance } from "./hoverLaw.ts";

type Bound = NonNullable<Costs["break_even"]>["bounds"][number];

/**
 * Largest take-off mass that keeps each declared limit, and all of them:
 *
 *   thrust    T_end / (g limit)                  (T on a full battery where no voltage of the end is known)
 *   mission   m_b (t_b / t_limit)^(2/3)
 *   authority the mass at which the candidate's counterweights, all made heavier alike in their places, leave the least angular
 *             acceleration asked for
 *
 * @param baseline  its take-off mass and endurance
 * @returns null where no limit is declared
 */
export function largestMass(
  campaign: Campaign,
  baseline: { readonly mass: CostFigure; readonly endurance: CostFigure | null },
  settings: Settings,
): Costs["break_even"] {
  const { limits, battery } = campaign;
  if (limits === undefined) return null;
  const bounds: Bound[] = [];
  const { thrustToWeight, missionTime, angularAcceleration } = limits;
  if (thrustToWeight !== null) {
    const left = thrustLeft(campaign, settings);
    const thrust = left === null ? null : (left.end?.value ?? left.full);
    bounds.push({
      limit: "thrust_to_weight",
      asked: thrustToWeight,
      mass: thrust === null ? null : thrust / (standardGravity * thrustToWeight),
      source: left?.end?.source ?? "declared",
    });
  }
  if (missionTime !== null) {
    const { endurance } = baseline;
    const mass = endurance === null ? null : massForEndurance(baseline.mass.value, endurance.value, missionTime);
    bounds.push({ limit: "mission_time", asked: missionTime, mass, source: endurance?.source ?? "law" });
  }
  if (angularAcceleration !== null) {
    const mass = massForAuthority(campaign, baseline.mass.value, angularAcceleration);
    bounds.push({ limit: "angular_acceleration", asked: angularAcceleration, mass, source: "law" });
  }
  for (const bound of bounds) if (bound.mass !== null && !Number.isFinite(bound.mass)) bound.mass = null;
  const masses = bounds.flatMap(({ mass }) => mass ?? []);
  if (masses.length === 0) return null;
  const least = Math.min(...masses);
  const added = addedMassOf(campaign, campaign.candidate);
  return {
    mass: least,
    added: least - baseline.mass.value,
    as_battery:
      battery?.mass == null || added === null || added <= 0
        ? null
        : enduranceAsBattery(baseline.mass.value, battery.mass, added),
    bounds,
  };
}

/** steps of mass, up to that of the whole thrust, in which the first fall below the limit is found */
const steps = 400;

/**
 * First mass at which roll or pitch falls below what is asked for; null where inertia, circle, thrust or weights are missing, or
 * the baseline itself gives less. At a weight of the whole thrust nothing is left, so there is always one.
 */
function massForAuthority(campaign: Campaign, mass: number, asked: number): number | null {
  const { candidate, configurations } = campaign;
  const own = configurations[candidate]!;
  const added = own.counterweights.filter(({ movedFrom }) => movedFrom === undefined);
  if (added.length === 0) return null;
  const grams = added.reduce((sum, weight) => sum + weight.mass, 0);
  const at = (scale: number): number | null => {
    const counterweights = own.counterweights.map(
      (weight): Counterweight =>
        weight.movedFrom === undefined ? { ...weight, mass: Math.max(weight.mass * scale, 1e-12) } : weight,
    );
    const scaled: Campaign = {
      ...campaign,
      configurations: { ...configurations, [candidate]: { ...own, addedMass: grams * scale, counterweights } },
    };
    const found = rotorsOf(scaled, candidate, mass + grams * scale, inertiaOf(scaled, candidate));
    return found.angular_acceleration && Math.min(found.angular_acceleration.roll, found.angular_acceleration.pitch);
  };
  const first = at(0);
  if (first === null) return null;
  const keeps = (scale: number): boolean => at(scale)! >= asked;
  if (first < asked) return null;
  const step = (campaign.vehicle!.maxThrust! / standardGravity - mass) / grams / steps;
  let low = 0;
  while (keeps(low + step)) low += step;
  let high = low + step;
  for (let round = 0; round < 50; round++) {
    const middle = (low + high) / 2;
    if (keeps(middle)) low = middle;
    else high = middle;
  }
  return mass + grams * low;
}
