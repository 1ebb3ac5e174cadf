import { measureIds } from "../../catalogue/measures.ts";
import type { Campaign } from "../campaign.ts";
import { choice, mapping, optional, quantity, text, withDefault } from "./fields.ts";
import type { Reading } from "./reading.ts";
import { isMapping, type TextMapping } from "./textTree.ts";

type Header = Pick<
  Campaign,
  "title" | "baseline" | "candidate" | "sham" | "smallestDifference" | "primary" | "judgeIn"
>;

const titleField = text("the campaign's title");
const configurationName = (role: string) => text(`the name of the ${role} configuration`);
const primary = withDefault(choice(measureIds, "the measure of the verdicts"), "rms");
const judgeIn = optional(choice(["world", "heading"], "the axes in which errors are judged"));
const smallest = quantity("length", "positive");
const smallestBySubject = mapping(
  { vehicle: optional(smallest), effector: optional(smallest), arm: optional(smallest) },
  "one length, or one per subject",
);

/** What is asked of the campaign: title, the configurations compared, the metric and the smallest difference that matters. */
export function readHeader(reading: Reading, root: TextMapping): Header | null {
  const title = reading.read(titleField, root.title, ["title"]);
  const baseline = reading.read(configurationName("baseline"), root.baseline, ["baseline"]);
  const candidate = reading.read(configurationName("candidate"), root.candidate, ["candidate"]);
  const sham = reading.read(optional(configurationName("sham")), root.sham, ["sham"]);
  const header = {
    sham,
    primary: reading.read(primary, root.primary, ["primary"]) ?? "rms",
    judgeIn: reading.read(judgeIn, root.judge_in, ["judge_in"]),
    smallestDifference: readSmallestDifference(reading, root),
  };
  checkRoles(reading, root, { baseline, candidate, sham });
  return title === null || baseline === null || candidate === null ? null : { title, baseline, candidate, ...header };
}

function readSmallestDifference(reading: Reading, root: TextMapping): Campaign["smallestDifference"] {
  const path = ["smallest_difference"];
  const tree = root.smallest_difference;
  if (isMapping(tree)) {
    return reading.read(smallestBySubject, tree, path) ?? { vehicle: null, effector: null, arm: null };
  }
  const one = reading.read(optional(smallest), tree, path);
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
