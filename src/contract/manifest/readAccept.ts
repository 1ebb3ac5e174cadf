import { type LabThreshold, labThresholdNames, labThresholds, thresholdText } from "../../catalogue/thresholds.ts";
import { checkCodes } from "../../foundation/checks.ts";
import type { Acceptance, Campaign } from "../campaign.ts";
import { defaultSettings } from "../settings.ts";
import { choice, count, field, list, mapping, optional, parseText, quantity, share } from "./fields.ts";
import { Complaint } from "./problems.ts";
import type { Reading } from "./reading.ts";
import { inWords, parseReason } from "./runSchema.ts";
import { describeFound, isList, isMapping, type TextMapping } from "./textTree.ts";

const runs = field(
  (found): Acceptance["runs"] => {
    const expected = "the ids of runs, or all";
    if (found === "all") return "all";
    const ids = (Array.isArray(found) ? found : [found]).map((id) => parseText(id, expected));
    if (ids.length === 0) throw new Complaint(`found no run, expected ${expected}`);
    return ids;
  },
  { anyOf: [{ type: "string" }, { type: "array", items: { type: ["string", "number"] }, minItems: 1 }] },
);

/** Figures as the tool prints them: a number, [least, largest], or a word. */
const evidence = field(
  (found): Acceptance["evidence"] => {
    if (found === undefined || found === null) return {};
    const expected = "figures of the finding such as { off_x_m: [0.30, 0.33] }";
    if (typeof found !== "object" || Array.isArray(found))
      throw new Complaint(`found ${describeFound(found)}, expected ${expected}`);
    return Object.fromEntries(Object.entries(found).map(([name, value]) => [name, figure(name, value)]));
  },
  {
    type: "object",
    additionalProperties: {
      anyOf: [{ type: ["number", "string"] }, { type: "array", items: { type: "number" }, minItems: 2, maxItems: 2 }],
    },
  },
);

function figure(name: string, found: unknown): Acceptance["evidence"][string] {
  if (!Array.isArray(found)) {
    const text = parseText(found, `a figure of ${name}`);
    const value = Number(text);
    return Number.isFinite(value) ? [value, value] : text;
  }
  const ends = found.map(Number);
  if (ends.length === 2 && ends.every(Number.isFinite) && ends[0]! <= ends[1]!) return [ends[0]!, ends[1]!];
  throw new Complaint(`found ${describeFound(found)} for ${name}, expected a number or [least, largest]`);
}

const entry = mapping(
  {
    check: choice(checkCodes, "the code of a check").describe("the finding, as the table of checks lists it"),
    runs: runs.describe("the ids of the runs that have it, or all"),
    because: field(parseReason, inWords).describe("why it is taken as it is"),
    evidence: optional(evidence).describe("the figures it had then, a number or [least, largest], by name"),
  },
  "an acceptance",
);
export const acceptField = optional(list(entry, "findings that are taken as they are"));

/**
 * `accept`: findings that a person takes as they are, each with its runs, the reason and the figures it had then.
 *
 * @param ids  of the runs declared; null where these are faulty themselves
 */
export function readAccept(reading: Reading, root: TextMapping, ids: readonly string[] | null): Acceptance[] {
  const found = reading.read(acceptField, root.accept, ["accept"]) ?? [];
  for (const [index, { runs: named }] of found.entries()) {
    if (named === "all" || ids === null) continue;
    const isOne = !isList(isMapping(root.accept) ? null : entryOf(root, index));
    for (const [k, id] of named.entries())
      if (!ids.includes(id))
        reading.unknownName(["accept", index, "runs", ...(isOne ? [] : [k])], id, {
          what: "the id of a run",
          known: ids,
        });
  }
  return found.map((one) => ({ ...one, evidence: one.evidence ?? {} }));
}

/** The runs of an entry as they are written: one, or a list. */
function entryOf(root: TextMapping, index: number): TextMapping[string] {
  const one = isList(root.accept) ? root.accept[index] : null;
  return isMapping(one) ? (one.runs ?? null) : null;
}

function fieldOf(name: LabThreshold) {
  const { kind, what } = labThresholds[name];
  const usual = thresholdText(name, defaultSettings[name]);
  if (kind === "share") return optional(share(`${what}, such as ${usual}`)).describe(what);
  return optional(kind === "count" ? count(what, 1000) : quantity(kind, "positive")).describe(what);
}

export const thresholdsField = optional(
  mapping(
    Object.fromEntries(labThresholdNames.map((name) => [name, fieldOf(name)])) as Record<
      LabThreshold,
      ReturnType<typeof fieldOf>
    >,
    "thresholds of the lab's own",
  ),
);

/** `thresholds`: those that the lab sets itself, in SI; all others are the usual ones (`settings.ts`). */
export function readThresholds(reading: Reading, root: TextMapping): Campaign["thresholds"] {
  const found = reading.read(thresholdsField, root.thresholds, ["thresholds"]) ?? {};
  return Object.fromEntries(Object.entries(found).filter(([, value]) => value !== null));
}
