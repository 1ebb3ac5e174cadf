import * as z from "zod";
import { benchField } from "./benchFields.ts";
import { list, mapping, optional, text } from "./fields.ts";
import { acceptField, thresholdsField } from "./readAccept.ts";
import { clockRule, referenceField } from "./readClocks.ts";
import { configurationField, partsField, vehicleField } from "./readConfigurations.ts";
import { airField, batteryField, limitsField } from "./readCosts.ts";
import { familyField, looksField } from "./readFamily.ts";
import { frameFields } from "./readFrames.ts";
import { headerFields, smallestField } from "./readHeader.ts";
import { signalsField } from "./readSignals.ts";
import { trajectoryField } from "./readTrajectories.ts";
import { flightSchema, runSchema } from "./runSchema.ts";

export const capturesField = optional(list(text("the path of a static capture"), "paths"));
export const definitionsField = optional(list(text("the path of a folder of .msg files"), "paths"));
const byName = <S extends z.ZodType>(schema: S) => z.record(z.string(), schema);

/**
 * A whole manifest. Its sections are read one by one, with rules between them that no schema can say; its keys, and what each
 * value may be, stand here, for the reading and for the JSON Schema that editors complete by.
 */
export const manifestShape = {
  title: headerFields.title,
  baseline: headerFields.baseline,
  candidate: headerFields.candidate,
  candidates: headerFields.candidates,
  compare: headerFields.compare,
  sham: headerFields.sham,
  smallest_difference: smallestField,
  primary: headerFields.primary,
  tolerance: headerFields.tolerance,
  judge_in: headerFields.judge_in,
  axis_names: headerFields.axis_names,
  rig: headerFields.rig,
  configurations: byName(z.union([configurationField, z.null()])).describe("how the vehicle was built, by name"),
  vehicle: optional(vehicleField).describe("masses and rotors, for what the mass costs"),
  parts: optional(partsField).describe("the mass ledger of what flies in every configuration"),
  battery: optional(batteryField).describe("the pack, for endurance and for the thrust that is left at its end"),
  limits: optional(limitsField).describe("what the vehicle must keep, from which the largest mass follows"),
  air: optional(airField).describe("density of the air, or its pressure and temperature; left out, 1.225 kg/m^3"),
  flight: optional(flightSchema).describe(
    "what held the vehicle besides its thrust, in every run that does not say otherwise",
  ),
  frames: optional(mapping(frameFields, "the frames")).describe(
    "places and turns measured on the vehicle; what is left out is the identity, and the evaluation says so",
  ),
  definitions: definitionsField.describe(
    "folders of .msg files, for logs that hold no definitions of their types, such as [msgs/]",
  ),
  signals: signalsField.describe("where each signal stands in the logs"),
  clocks: optional(
    z.object({ reference: referenceField.describe("the clock that all others are brought to") }).catchall(clockRule),
  ).describe("how the clocks relate: a reference, and a rule for each other clock by its name"),
  trajectories: byName(trajectoryField).describe("what the runs were asked to fly, by name"),
  static_captures: capturesField.describe("logs in which nothing moves, props off: the noise of the capture"),
  runs: z
    .union([text("the path of a table"), list(runSchema, "runs")])
    .describe("the runs, or the path of a table of them such as runs.csv"),
  family: familyField.describe(
    "the cells that the campaign is about, named before the flights; left out, all of the primary measure",
  ),
  looks: looksField.describe(
    "how many runs are flown at most, so that looking before all are flown makes no false alarm likelier; left out, looks are counted alone",
  ),
  bench: benchField.describe("the arm on a stand through a force sensor, props off"),
  accept: acceptField.describe("findings that are taken as they are, each with its reason"),
  thresholds: thresholdsField.describe("thresholds that hang on the lab's arena, vehicle, arm or scales"),
};
