import type { Campaign, Configuration, VehicleFacts } from "../campaign.ts";
import { count, list, mapping, optional, quantity, text, triple } from "./fields.ts";
import { runsOfConfiguration } from "./filedRuns.ts";
import type { Reading } from "./reading.ts";
import { isMapping, type TextMapping } from "./textTree.ts";

const counterweight = mapping(
  {
    mass: quantity("mass", "positive").describe("of the counterweight"),
    at: triple("length", "a point of three lengths such as [-140 mm, 0 mm, 20 mm]").describe(
      "its place in the vehicle's body frame",
    ),
  },
  "a counterweight",
);
export const configurationField = mapping(
  {
    label: optional(text("a label")).describe("as tables and figures name it"),
    added_mass: optional(quantity("mass", "not-negative")).describe("what was added to the vehicle"),
    counterweights: optional(list(counterweight, "counterweights")).describe("mass and place of each"),
    runs: runsOfConfiguration.describe(
      "its runs by id or by the name of their log, instead of `configuration` in each",
    ),
  },
  "a configuration",
);
export const vehicleField = mapping(
  {
    mass: optional(quantity("mass", "positive")).describe("without what a configuration adds"),
    max_thrust: optional(quantity("force", "positive")).describe("of all rotors together"),
    rotors: optional(count("the number of rotors", 100)).describe("how many"),
    rotor_diameter: optional(quantity("length", "positive")).describe("of one"),
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
      counterweights: found.counterweights ?? [],
    };
  }
  return configurations;
}

/** The vehicle's masses and rotors; null where the manifest says nothing of them. */
export function readVehicle(reading: Reading, root: TextMapping): VehicleFacts | null {
  if (root.vehicle === undefined || root.vehicle === null) return null;
  const found = reading.read(vehicleField, root.vehicle, ["vehicle"]);
  if (found === null || !isMapping(root.vehicle)) return null;
  return {
    mass: found.mass,
    maxThrust: found.max_thrust,
    rotors: found.rotors,
    rotorDiameter: found.rotor_diameter,
  };
}
