import type { Campaign, Configuration, VehicleFacts } from "../campaign.ts";
import { count, list, mapping, optional, quantity, text, triple } from "./fields.ts";
import { runsOfConfiguration } from "./filedRuns.ts";
import type { Reading } from "./reading.ts";
import { isMapping, type TextMapping } from "./textTree.ts";

const counterweight = mapping(
  {
    mass: quantity("mass", "positive"),
    at: triple("length", "a point of three lengths such as [-140 mm, 0 mm, 20 mm]"),
  },
  "a counterweight",
);
const configuration = mapping(
  {
    label: optional(text("a label")),
    added_mass: optional(quantity("mass", "not-negative")),
    counterweights: optional(list(counterweight, "counterweights")),
    runs: runsOfConfiguration,
  },
  "a configuration",
);
const vehicle = mapping(
  {
    mass: optional(quantity("mass", "positive")),
    max_thrust: optional(quantity("force", "positive")),
    rotors: optional(count("the number of rotors", 100)),
    rotor_diameter: optional(quantity("length", "positive")),
  },
  "the vehicle",
);

/** How the vehicle was built, by name. An empty entry is a configuration of which only the name is known. */
export function readConfigurations(reading: Reading, root: TextMapping): Campaign["configurations"] {
  const tree = reading.mapping(root.configurations, ["configurations"], "a mapping from names to configurations");
  const configurations: Record<string, Configuration> = {};
  for (const [name, entry] of Object.entries(tree ?? {})) {
    const found = reading.read(configuration, entry ?? {}, ["configurations", name]);
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
  const found = reading.read(vehicle, root.vehicle, ["vehicle"]);
  if (found === null || !isMapping(root.vehicle)) return null;
  return {
    mass: found.mass,
    maxThrust: found.max_thrust,
    rotors: found.rotors,
    rotorDiameter: found.rotor_diameter,
  };
}
