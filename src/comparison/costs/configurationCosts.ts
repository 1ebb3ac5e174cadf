import type { Campaign } from "../../contract/campaign.ts";
import type { CostConfiguration, CostFigure } from "../../contract/costs.ts";
import type { RunEvaluation } from "../../contract/evaluation.ts";
import { addedMassOf, addedWeightsOf, centreOfMass } from "../../contract/ledger.ts";
import type { Settings } from "../../contract/settings.ts";
import { standardGravity } from "../../foundation/units.ts";
import { mean } from "../../numeric/descriptive.ts";
import { meanInterval } from "../moving/movingEffects.ts";
import { leadDrop, thrustAt } from "./hoverLaw.ts";
import { armTravel, bareCentre, inertiaChange, spreadMoment } from "./massMoved.ts";
import { attitudeAuthority, rotorLoads } from "./rotorLoads.ts";

/** What of a run its costs are taken from. */
export type CostRun = Pick<
  RunEvaluation,
  "id" | "configuration" | "block" | "used" | "takeoff_mass" | "power" | "outputs" | "effort" | "trajectory"
>;
export type Range = readonly [number, number];

export const declaredFigure = (value: number, range: Range | null): CostFigure => ({
  value,
  ci95: null,
  range: range && [...range],
  source: "declared",
});
export const lawFigure = (value: number, range: Range | null): CostFigure => ({
  ...declaredFigure(value, range),
  source: "law",
});
/** Mean over runs with Student's interval. */
export function measuredFigure(values: readonly number[], level: number): CostFigure {
  const column = Float64Array.from(values);
  return { value: mean(column), ci95: meanInterval(column, level), range: null, source: "measured" };
}
/** The ends that a figure may be at. */
export const endsOf = ({ value, ci95, range }: CostFigure): Range => ci95 ?? range ?? [value, value];

/** Take-off mass: the mean of the used runs as weighed; else the vehicle's and what is added, twice their uncertainty about it. */
export function takeoffMass(
  campaign: Campaign,
  name: string,
  runs: readonly CostRun[],
  settings: Settings,
): CostFigure | null {
  const weighed = runs.flatMap((run) =>
    run.used && run.configuration === name && run.takeoff_mass !== null ? [run.takeoff_mass] : [],
  );
  if (weighed.length > 0) return measuredFigure(weighed, settings.interval_level);
  const own = campaign.vehicle?.mass ?? null;
  const added = addedMassOf(campaign, name);
  if (own === null || added === null) return null;
  const error =
    2 *
    Math.hypot(
      campaign.vehicle?.massUncertainty ?? settings.moving_mass_error * own,
      settings.moving_mass_error * added,
    );
  return declaredFigure(own + added, [own + added - error, own + added + error]);
}

/** The parts and added counterweights held against the take-off mass; null without parts. */
export function ledgerOf(campaign: Campaign, name: string, mass: CostFigure | null): CostConfiguration["ledger"] {
  const { parts = [], configurations } = campaign;
  if (parts.length === 0 || mass === null) return null;
  const own = configurations[name]!;
  const added = own.counterweights.length > 0 ? addedWeightsOf(own) : (own.addedMass ?? 0);
  const sum = parts.reduce((total, part) => total + part.mass, 0) + added;
  return { sum, apart: sum - mass.value, whole: parts.some(({ travel }) => travel.every((along) => along === 0)) };
}

/** Most thrust by voltage: highest first; null where none is declared. */
export function thrustTable({ vehicle, battery }: Campaign): NonNullable<Parameters<typeof thrustAt>[0]> | null {
  if (vehicle?.maxThrustAt !== undefined) return vehicle.maxThrustAt;
  if (vehicle?.maxThrust == null) return null;
  return battery?.full == null ? [] : [{ voltage: battery.full, thrust: vehicle.maxThrust }];
}

/** Most thrust on a full battery, and at the voltage at which the flight is ended, with the range of the law between them. */
export function thrustLeft(campaign: Campaign, settings: Settings): { full: number; end: CostFigure | null } | null {
  const { vehicle, battery } = campaign;
  const table = thrustTable(campaign);
  if (table === null) return null;
  const full = vehicle!.maxThrust!;
  const lowest = vehicle?.maxThrustAt?.at(-1)?.voltage ?? null;
  const end = battery?.end ?? lowest;
  if (table.length === 0 || end === null) return { full, end: null };
  const exponent = vehicle?.thrustExponent ?? settings.cost_thrust_exponent;
  const at = (p: number): number => thrustAt(table, end, p);
  // within a table nothing rests on the exponent
  const inTable = lowest !== null && end >= lowest;
  const error = vehicle?.thrustExponent === undefined ? settings.cost_thrust_exponent_error : 0;
  const range: Range = [at(exponent + error), at(exponent - error)];
  return { full, end: inTable ? declaredFigure(at(exponent), null) : lawFigure(at(exponent), range) };
}

/** Thrust over weight, with the ends of both. */
export function thrustToWeight(thrust: CostFigure, mass: CostFigure): CostFigure {
  const [low, high] = endsOf(thrust);
  const [light, heavy] = endsOf(mass);
  const range: Range = [low / (heavy * standardGravity), high / (light * standardGravity)];
  return { ...thrust, value: thrust.value / (mass.value * standardGravity), range: [...range] };
}

/** Loads of the rotors and what they leave for roll and pitch; null where circle, thrust or inertia are not declared. */
export function rotorsOf(
  campaign: Campaign,
  name: string,
  mass: number,
  inertia: CostConfiguration["inertia"],
): Pick<CostConfiguration, "rotor_loads" | "angular_acceleration"> {
  const none = { rotor_loads: null, angular_acceleration: null };
  const { rotors, rotorRadius: radius, coaxial = false, firstRotor = null, maxThrust } = campaign.vehicle ?? {};
  if (rotors == null || radius === undefined) return none;
  const places = coaxial ? rotors / 2 : rotors;
  if (places < 3 || !Number.isInteger(places)) return none;
  const centre = campaign.vehicle!.rotorCentre ?? campaign.frames.bodyPoint;
  const { at } = centreOfMass(campaign, name);
  const offset: [number, number] = [at[0] - centre[0], at[1] - centre[1]];
  const circle = { places, radius, first: firstRotor };
  const weight = mass * standardGravity;
  const loads = rotorLoads(circle, weight, offset);
  const each = rotors / places;
  const whole = inertia?.whole ?? null;
  return {
    rotor_loads: {
      mean: weight / rotors,
      highest: loads.highest / each,
      lowest: loads.lowest / each,
      azimuth: firstRotor === null ? "worst" : "declared",
      offset,
    },
    angular_acceleration:
      whole === null || maxThrust == null
        ? null
        : attitudeAuthority(circle, maxThrust / places, loads, [whole.x, whole.y]),
  };
}

/** Inertia by the counterweights; null where an added mass has no place. */
export function inertiaOf(campaign: Campaign, name: string): CostConfiguration["inertia"] {
  const mass = campaign.vehicle?.mass ?? null;
  const { counterweights } = campaign.configurations[name]!;
  const placeless = counterweights.length === 0 && addedMassOf(campaign, name) !== 0;
  if (mass === null || placeless) return null;
  const [x, y, z] = inertiaChange(mass, bareCentre(campaign), centreOfMass(campaign, name).at, counterweights);
  const own = campaign.vehicle?.inertia;
  return {
    change: { x, y, z },
    whole: own === undefined ? null : { x: own[0] + x, y: own[1] + y, z: own[2] + z },
  };
}

/** What was moved to balance the arm, and what that brings with it. */
export function movedOf(
  campaign: Campaign,
  name: string,
  current: number | null,
  settings: Settings,
): CostConfiguration["moved"] {
  const mass = campaign.vehicle?.mass ?? null;
  const reach = armTravel(campaign.trajectories);
  const wire = campaign.battery?.wire ?? null;
  return campaign.configurations[name]!.counterweights.flatMap(
    ({ mass: own, at, movedFrom, travel, function: purpose }) => {
      if (movedFrom === undefined) return [];
      const way = at.map((value, axis) => value - movedFrom[axis]!);
      const by = Math.hypot(...way);
      const shift = way.map((value) => (mass === null ? 0 : (own * value) / mass)) as [number, number, number];
      const spread = settings.cost_pack_spread * own;
      const isPack = purpose !== undefined && /batter|pack/i.test(purpose);
      return [
        {
          what: purpose ?? "a part",
          mass: own,
          by,
          shift,
          lead_drop: !isPack || wire === null || current === null ? null : leadDrop(by, wire, current),
          pack_spread: spread,
          pack_moment: spreadMoment(spread, travel, reach),
        },
      ];
    },
  );
}
