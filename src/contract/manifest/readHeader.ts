import * as z from "zod";
import { type MeasureId, measureIds, measureOf, measureUnits } from "../../catalogue/measures.ts";
import { subjects } from "../../foundation/tracks.ts";
import type { Campaign } from "../campaign.ts";
import {
  choice,
  field,
  mapping,
  optional,
  parseText,
  quantity,
  share,
  sharePattern,
  text,
  withDefault,
} from "./fields.ts";
import { Complaint } from "./problems.ts";
import { quantityPattern } from "./quantity.ts";
import { contrastFields, readContrasts } from "./readContrasts.ts";
import type { Reading } from "./reading.ts";
import { describeFound, isMapping, type TextMapping } from "./textTree.ts";

type Header = Pick<
  Campaign,
  | "title"
  | "baseline"
  | "candidate"
  | "furtherContrasts"
  | "sham"
  | "smallestDifference"
  | "primary"
  | "tolerance"
  | "judgeIn"
  | "axisNames"
  | "rig"
>;

const configurationName = (role: string) => text(`the name of the ${role} configuration`);
/** a name stands in sentences and over columns */
const longestAxisName = 30;
const axisNamePattern = { type: "string", minLength: 1, maxLength: longestAxisName };
const axisName = optional(
  field((found): string => {
    const expected = `a few words such as "towards the wall", at most ${longestAxisName} letters, digits and blanks`;
    const name = parseText(found, expected);
    if (name.length <= longestAxisName && /^[\p{L}\p{M}\p{N} .,'’/-]+$/u.test(name)) return name;
    throw new Complaint(`found ${describeFound(name)}, expected ${expected}`);
  }, axisNamePattern),
);
const primaryField = withDefault(choice(measureIds, "the measure of the verdicts"), "rms");
/** The keys that say what is asked of the campaign. */
export const headerFields = {
  title: text("the campaign's title").describe("of the campaign"),
  baseline: configurationName("baseline").describe("the configuration that is compared with, one of `configurations`"),
  candidate: optional(configurationName("candidate")).describe(
    "the configuration in question, one of `configurations`; where there are several, `candidates` instead",
  ),
  ...contrastFields,
  sham: optional(configurationName("sham")).describe("the configuration with the same mass at the centre of mass"),
  primary: primaryField.describe("the measure of the verdicts"),
  tolerance: optional(quantity("length", "positive")).describe(
    "how far from its command is still right; for `primary: within`",
  ),
  judge_in: optional(choice(["world", "heading"], "the axes in which errors are judged")).describe(
    "the room's axes, or forward, left, up of each run",
  ),
  axis_names: optional(
    mapping(
      {
        x: axisName.describe("of x"),
        y: axisName.describe("of y"),
        z: axisName.describe("of z"),
      },
      "names of the world's axes",
    ),
  ).describe("what the world's axes are called, such as { x: towards the wall, z: up }"),
  rig: optional(z.record(z.string(), text("one text"))).describe(
    "what a report is to say of the rig, in any words: serial numbers, firmware, dates of calibration, photographs beside it",
  ),
};

/** One smallest difference in the unit of the measure that the verdicts are about, or one per subject. */
function smallestFields(primary: MeasureId) {
  const kind = measureUnits[measureOf(primary).unit].quantity;
  const one =
    kind === "share" ? share(`a share such as 5 %, as the measure ${primary} is one`) : quantity(kind, "positive");
  const each = { vehicle: optional(one), effector: optional(one), arm: optional(one) };
  return { one: optional(one), bySubject: mapping(each, `one ${kind}, or one per subject`) };
}
/** In the unit of whichever measure is the primary one. */
const size = { type: "string", pattern: `(${quantityPattern})|(${sharePattern.pattern})` };
export const smallestField = z.unknown().meta({
  anyOf: [
    size,
    {
      type: "object",
      properties: Object.fromEntries(
        subjects.map((subject) => [subject, { ...size, description: `for the ${subject}` }]),
      ),
      additionalProperties: false,
    },
  ],
  description:
    "the smallest change that would matter, or one per subject; a length such as 1.5 mm, an angle or a share as the primary measure is",
});

/** What is asked of the campaign: title, the configurations compared, the metric and the smallest difference that matters. */
export function readHeader(reading: Reading, root: TextMapping): Header | null {
  const title = reading.read(headerFields.title, root.title, ["title"]);
  const baseline = reading.read(headerFields.baseline, root.baseline, ["baseline"]);
  const sham = reading.read(headerFields.sham, root.sham, ["sham"]);
  const several = readContrasts(reading, root, { baseline, sham });
  const candidate =
    root.candidates === undefined || root.candidate !== undefined
      ? reading.read(configurationName("candidate"), root.candidate, ["candidate"])
      : (several?.[0]?.candidate ?? null);
  const measure = reading.read(headerFields.primary, root.primary, ["primary"]) ?? "rms";
  const within = reading.read(headerFields.tolerance, root.tolerance, ["tolerance"]);
  if (measure === "within" && root.tolerance === undefined) {
    const message = "found primary: within without a tolerance, expected how far from its command the tool may be";
    reading.complain(["primary"], message, "add `tolerance: 20 mm`, from the task");
  }
  const rig = reading.read(headerFields.rig, root.rig, ["rig"]);
  const header = {
    ...(rig === null ? {} : { rig }),
    sham,
    primary: measure,
    tolerance: within,
    judgeIn: reading.read(headerFields.judge_in, root.judge_in, ["judge_in"]),
    axisNames: reading.read(headerFields.axis_names, root.axis_names, ["axis_names"]) ?? { x: null, y: null, z: null },
    smallestDifference: readSmallestDifference(reading, root, measure),
  };
  checkRoles(reading, root, { baseline, ...(root.candidates === undefined ? { candidate } : {}), sham });
  if (title === null || baseline === null || candidate === null) return null;
  const further = several?.slice(1) ?? [];
  return { title, baseline, candidate, ...(further.length === 0 ? {} : { furtherContrasts: further }), ...header };
}

function readSmallestDifference(
  reading: Reading,
  root: TextMapping,
  primary: MeasureId,
): Campaign["smallestDifference"] {
  const path = ["smallest_difference"];
  const tree = root.smallest_difference;
  const { one: single, bySubject } = smallestFields(primary);
  if (isMapping(tree)) {
    return reading.read(bySubject, tree, path) ?? { vehicle: null, effector: null, arm: null };
  }
  const one = reading.read(single, tree, path);
  return { vehicle: one, effector: one, arm: one };
}

/** Each role names a declared configuration, and no two roles the same. */
function checkRoles(reading: Reading, root: TextMapping, roles: Readonly<Record<string, string | null>>): void {
  const known = isMapping(root.configurations) ? Object.keys(root.configurations) : null;
  const taken = new Map<string, string>();
  for (const [role, name] of Object.entries(roles)) {
    if (name === null) continue;
    if (known !== null && !known.includes(name))
      reading.unknownName([role], name, { what: "a declared configuration", known });
    const other = taken.get(name);
    if (other !== undefined) {
      const message = `found ${JSON.stringify(name)}, which is the ${other} as well, expected another configuration`;
      reading.complain([role], message, "a configuration cannot be compared with itself");
    }
    taken.set(name, role);
  }
}
