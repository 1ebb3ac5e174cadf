import * as z from "zod";
import type { FlightFacts, Span } from "../campaign.ts";
import { choice, field, list, mapping, optional, parseText, quantity, text, withDefault } from "./fields.ts";
import { parseInstant } from "./instant.ts";
import { Complaint } from "./problems.ts";
import { parseQuantity, quantityPattern } from "./quantity.ts";
import { describeFound } from "./textTree.ts";

const path = text("the path of a log");

const logInJson = { anyOf: [{ type: "string" }, { type: "array", items: { type: "string" }, minItems: 1 }] };
/** One log, or the parts of a split one in their order. */
const log = z
  .unknown()
  .transform((found) => (Array.isArray(found) ? found : [found]))
  .pipe(list(path, "paths of a log").min(1))
  .meta(logInJson);

const ends = {
  anyOf: [
    { type: "array", items: { type: "string", pattern: quantityPattern }, minItems: 2, maxItems: 2 },
    { type: "string", pattern: "\\.\\." },
  ],
};
const span = field(
  (found): Span | Readonly<Record<string, Span>> => {
    if (typeof found !== "object" || found === null || Array.isArray(found)) return parseSpan(found);
    const byLog: Record<string, Span> = Object.create(null);
    for (const [log, part] of Object.entries(found)) {
      try {
        byLog[log] = parseSpan(part);
      } catch (error) {
        if (!(error instanceof Complaint)) throw error;
        throw new Complaint(`of the log ${log}: ${error.message}`, { hint: error.hint });
      }
    }
    if (Object.keys(byLog).length === 0) throw new Complaint("found a span of no log, expected one of a log at least");
    return byLog;
  },
  { anyOf: [...ends.anyOf, { type: "object", additionalProperties: ends }] },
);

function parseSpan(found: unknown): Span {
  const expected = `found ${describeFound(found)}, expected a start and an end such as [30 s, 95 s]`;
  const ends = typeof found === "string" ? found.split("..") : found;
  if (!Array.isArray(ends) || ends.length !== 2) throw new Complaint(expected, { hint: "as text: 30 s..95 s" });
  const [start, end] = ends.map((part) => parseQuantity(part, "time")) as [number, number];
  if (start < 0) throw new Complaint(expected, { hint: "seconds are counted from the first message of the log" });
  if (end <= start)
    throw new Complaint(
      `found a span that ends at ${end} s and starts at ${start} s, expected the end after the start`,
    );
  return [start, end];
}

/** Text for JSON Schema. */
export const inWords = { type: "string" } as const;
/** A date and time for JSON Schema. */
export const dated = { type: "string", examples: ["2025-10-14T08:10:00Z"] } as const;
/** How a run was flown; in a table of runs the cell says the tether alone. */
const tether = choice(["none", "slack", "tension"], "whether a tether held the vehicle");
const freely = mapping(
  {
    tether: optional(tether).describe("default none"),
    contact: optional(field(parseSpan, ends)).describe("when the tool touched something, seconds of the run"),
  },
  "how the run was flown",
);
export const flightSchema = z
  .preprocess((found) => (typeof found === "string" ? { tether: found } : found), freely)
  .transform(({ tether: held, contact }): FlightFacts => ({ tether: held ?? "none", contact }));

const exclude = field((found): string | null => {
  if (found === undefined || found === null || (typeof found === "string" && found.trim() === "")) return null;
  const reason = parseReason(found);
  return reason;
}, inWords);

/** Why a person excluded a run: words, not a switch. */
export function parseReason(found: unknown): string {
  const expected = "the reason in words";
  const reason = parseText(found, expected);
  if (/^(true|false|yes|no|on|off|y|n|x|\d+)$/i.test(reason)) {
    throw new Complaint(`found ${describeFound(found)}, expected ${expected}`, {
      hint: 'such as exclude: "arm jammed in cycle 4"; leave exclude out to keep the run',
    });
  }
  return reason;
}

export const runShape = {
  log: optional(log).describe("path of its log from the manifest on, or the parts of a split one in their order"),
  logs: optional(mapping({}, "logs by name").loose().meta({ additionalProperties: logInJson })).describe(
    "its logs by name, where it has several: { mocap: a.csv, onboard: b.ulg }",
  ),
  id: optional(text("the run's id")).describe("its name in tables and exclusions; else that of its log"),
  /** else a configuration lists the run */
  configuration: optional(text("the name of a configuration")).describe(
    "one of `configurations`; left out where a configuration lists the run",
  ),
  trajectory: text("the name of a trajectory").describe("one of `trajectories`"),
  block: optional(text("the name of a block")).describe("runs flown under like conditions: a day, a battery pack"),
  span: optional(span).describe(
    "the part of the log that is the run, where one log holds several: [30 s, 95 s] after its first message, of several logs each its own",
  ),
  battery: optional(text("the name of a battery")).describe("the pack it was flown with"),
  takeoff_mass: optional(quantity("mass", "positive")).describe("mass at take-off"),
  started: optional(field(parseInstant, dated)).describe("when it was flown; without a zone it is UTC"),
  notes: optional(text("notes")).describe("what a person wrote down"),
  flight: optional(flightSchema).describe(
    "what held the vehicle besides its thrust; else as `flight` of the manifest says",
  ),
  outcome: withDefault(choice(["completed", "aborted"], "how the run ended"), "completed").describe(
    "an aborted run is counted, never judged",
  ),
  exclude: exclude.describe("why the run is left out, in words"),
};

/** One run as the manifest writes it. */
export const runSchema = mapping(runShape, "a run");
export const logSchema = log;
