import * as z from "zod";
import type { Span } from "../campaign.ts";
import { Complaint } from "./complaint.ts";
import { choice, field, list, mapping, optional, parseText, quantity, text, withDefault } from "./fields.ts";
import { parseInstant } from "./instant.ts";
import { parseQuantity } from "./quantity.ts";
import { describeFound } from "./textTree.ts";

const path = text("the path of a log");

/** One log, or the parts of a split one in their order. */
const log = z
  .unknown()
  .transform((found) => (Array.isArray(found) ? found : [found]))
  .pipe(list(path, "paths of a log").min(1));

const span = field((found): Span | Readonly<Record<string, Span>> => {
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
});

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

const exclude = field((found): string | null => {
  if (found === undefined || found === null || (typeof found === "string" && found.trim() === "")) return null;
  const reason = parseReason(found);
  return reason;
});

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
  log: optional(log),
  logs: optional(mapping({}, "logs by name").loose()),
  id: optional(text("the run's id")),
  /** else a configuration lists the run */
  configuration: optional(text("the name of a configuration")),
  trajectory: text("the name of a trajectory"),
  block: optional(text("the name of a block")),
  span: optional(span),
  battery: optional(text("the name of a battery")),
  takeoff_mass: optional(quantity("mass", "positive")),
  started: optional(field(parseInstant)),
  notes: optional(text("notes")),
  outcome: withDefault(choice(["completed", "aborted"], "how the run ended"), "completed"),
  exclude,
};

/** One run as the manifest writes it. */
export const runSchema = mapping(runShape, "a run");
export const logSchema = log;
