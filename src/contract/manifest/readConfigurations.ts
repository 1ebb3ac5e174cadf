import * as z from "zod";
import type { Vector3 } from "../../foundation/units.ts";
import type { Campaign, Configuration, Part, VehicleFacts } from "../campaign.ts";
import { count, list, mapping, optional, pureNumber, quantity, text, triple } from "./fields.ts";
import { runsOfConfiguration } from "./filedRuns.ts";
import { rotorFields } from "./readCosts.ts";
import type { Reading } from "./reading.ts";
import { describeFound, isMapping, type TextMapping } from "./textTree.ts";

const point = triple("length", "a point of three lengths such as [-140 mm, 0 mm, 20 mm]");
const travelWords = "travel of its mass centre per travel of the control point";
const perTravel = pureNumber(travelWords);
/** One number for every axis, or one each along the body's x, y and z. */
const travel = z.union([z.tuple([perTravel, perTravel, perTravel]), perTravel], {
  error: (issue) =>
    `found ${describeFound(issue.input)}, expected ${travelWords}, one number or three such as [-1.07, -0.15, 0]`,
});
const weighed = {
  mass: quantity("mass", "positive").describe("its mass"),
  mass_uncertainty: optional(quantity("mass", "not-negative")).describe("standard uncertainty of the mass"),
};
const counterweight = mapping(
  {
    ...weighed,
    at: point.describe("vehicle body axes from the marker frame's origin, arm at its mean posture"),
    travel: optional(travel).describe(`${travelWords}, body axes`),
    lever: optional(quantity("length", "positive")).describe("distance of its mass centre from its pivot"),
    moved_from: optional(point).describe(
      "where it stands in the baseline: a part of the vehicle, such as its battery, that was moved and adds no mass",
    ),
    function: optional(text("what the counterweight is for")).describe("what else it is for, such as battery"),
  },
  "a counterweight",
);
const part = mapping(
  {
    name: optional(text("the name of a part")).describe("of the part"),
    ...weighed,
    at: optional(point).describe("vehicle body axes from the marker frame's origin, arm at its mean posture"),
    travel: optional(travel).describe(`${travelWords}, body axes; 0 where it rests`),
    function: optional(text("what the part is for")).describe("what it is for"),
  },
  "a part",
);
export const partsField = list(part, "parts");
export const configurationField = mapping(
  {
    label: optional(text("a label")).describe("as tables and figures name it"),
    added_mass: optional(quantity("mass", "not-negative")).describe("what was added to the vehicle"),
    counterweights: optional(list(counterweight, "counterweights")).describe("mass and place of each"),
    com: optional(point).describe("centre of mass of the whole, where it is not that of the vehicle"),
    runs: runsOfConfiguration.describe(
      "its runs by id or by the name of their log, instead of `configuration` in each",
    ),
  },
  "a configuration",
);
export const vehicleField = mapping(
  {
    mass: optional(quantity("mass", "positive")).describe("without what a configuration adds"),
    mass_uncertainty: optional(quantity("mass", "not-negative")).describe("standard uncertainty of the mass"),
    com: optional(point).describe("centre of mass of the whole with the arm at its mean posture, in its marker frame"),
    rotors: optional(count("the number of rotors", 100)).describe("how many"),
    rotor_diameter: optional(quantity("length", "positive")).describe("of one"),
    ...rotorFields,
  },
  "the vehicle",
);

/** How the vehicle was built, by name. An empty entry is a configuration of which only the name is known. */
export function readConfigurations(reading: Reading, root: TextMapping): Campaign["configurations"] {
  const tree = reading.mapping(root.configurations, ["configurations"], "a mapping from names to configurations");
  const configurations: Record<string, Configuration> = {};
  for (const [name, entry] of Object.entries(tree ?? {})) {
    const found = reading.read(configurationField, entry ?? {}, ["configurations", name]);
    if (found === null) continue;
    configurations[name] = {
      label: found.label ?? name,
      addedMass: found.added_mass,
      counterweights: (found.counterweights ?? []).map(
        ({ mass, mass_uncertainty, at, travel, lever, moved_from, function: purpose }) => ({
          mass,
          at,
          ...declared("massUncertainty", mass_uncertainty),
          ...declared("travel", travel === null ? null : alongAxes(travel)),
          ...declared("lever", lever),
          ...declared("movedFrom", moved_from),
          ...declared("function", purpose),
        }),
      ),
      ...declared("com", found.com),
    };
  }
  return configurations;
}

/** The vehicle's masses and rotors; null where the manifest says nothing of them. */
export function readVehicle(reading: Reading, root: TextMapping): VehicleFacts | null {
  if (root.vehicle === undefined || root.vehicle === null) return null;
  const found = reading.read(vehicleField, root.vehicle, ["vehicle"]);
  if (found === null || !isMapping(root.vehicle)) return null;
  if (found.coaxial === "yes" && found.rotors !== null && found.rotors % 2 === 1)
    reading.complain(
      ["vehicle", "rotors"],
      `found ${found.rotors} rotors in coaxial pairs, expected an even number`,
      "count both rotors of each pair, or leave `coaxial` out",
    );
  return {
    mass: found.mass,
    ...declared("massUncertainty", found.mass_uncertainty),
    ...declared("com", found.com),
    maxThrust: typeof found.max_thrust === "number" ? found.max_thrust : (found.max_thrust?.[0]?.thrust ?? null),
    rotors: found.rotors,
    rotorDiameter: found.rotor_diameter,
    ...declared("maxThrustAt", typeof found.max_thrust === "number" ? null : found.max_thrust),
    ...declared("thrustExponent", found.thrust_exponent),
    ...declared("rotorRadius", found.rotor_radius),
    ...declared("rotorCentre", found.rotor_centre),
    ...declared("firstRotor", found.first_rotor),
    ...declared("coaxial", found.coaxial === null ? null : found.coaxial === "yes"),
    ...declared("inertia", found.inertia),
  };
}

/** The mass ledger of what flies in every configuration; null where none is declared. */
export function readParts(reading: Reading, root: TextMapping): readonly Part[] | null {
  if (root.parts === undefined || root.parts === null) return null;
  const found = reading.read(partsField, root.parts, ["parts"]);
  return (
    found?.map(({ name, mass, mass_uncertainty, at, travel, function: purpose }) => ({
      name,
      mass,
      ...declared("massUncertainty", mass_uncertainty),
      at,
      travel: alongAxes(travel ?? 0),
      function: purpose,
    })) ?? null
  );
}

const alongAxes = (travel: number | Vector3): Vector3 =>
  typeof travel === "number" ? [travel, travel, travel] : travel;

/** The property, or none where nothing is declared. */
function declared<K extends string, T>(key: K, value: T | null): { readonly [key in K]?: T } {
  return (value === null ? {} : { [key]: value }) as { readonly [key in K]?: T };
}
