import { nearestNames } from "../../foundation/nearest.ts";
import type { LogConnection } from "./LogPart.ts";
import type { DecoderFault, MessageDecoder } from "./MessageDecoder.ts";
import type { Wire } from "./Wire.ts";
import { type Definition, definitionsOf, rootOf, wholeMessages } from "./wholeMessages.ts";

type Leaf = Definition["definitions"][number];

/** A step on the way to a number: a field's name or a place in an array. */
type Step = string | number;

/**
 * Decodes a message type nobody knows by heart, by its definition in the log and the paths the manifest names
 * (`pose.position.x`, `motors.0` or `motors[0]`).
 *
 * Slower than the others by a factor of ten: the whole message becomes an object first. Whole numbers and single
 * precision become doubles, true and false 1 and 0, times and durations seconds. An element that an array does not
 * have is NaN; a column that has nothing but those is a fault.
 *
 * @param connection  the type with its definition, as the log holds them
 * @param wire        how its messages are serialised
 * @param fields      column -> path
 * @returns the fault where the definition cannot be read or a path leads to no number
 */
export function fieldsDecoder(
  connection: LogConnection,
  wire: Wire,
  fields: Readonly<Record<string, string>>,
): MessageDecoder | DecoderFault {
  const { type } = connection;
  const definitions = definitionsOf(connection);
  if (definitions === "none") return noDefinition(connection);
  if (definitions === "unreadable")
    return {
      reason: "wrong-type",
      message: `the log's definition of ${type} cannot be read`,
      hint: "record the topic again with the tool that publishes it",
    };
  const root = rootOf(definitions);
  const paths: Step[][] = [];
  for (const [column, path] of Object.entries(fields)) {
    const steps = stepsOf(path);
    const found = root === undefined ? "no fields" : faultOfPath(steps, root, definitions);
    if (found !== null)
      return noSuchField({
        type,
        column,
        path,
        found,
        leaves: root === undefined ? [] : numericLeaves(root, definitions),
      });
    paths.push(steps);
  }
  const messages = wholeMessages(connection, definitions, wire);
  const anything = new Uint8Array(paths.length);
  return {
    columns: Object.keys(fields),
    stamped: messages.stamped,
    decode(view, at, end, table) {
      const message = messages.read(view, at, end);
      const row = message === null ? -1 : messages.addRow(view, at, end, table);
      if (row < 0) return false;
      for (let i = 0; i < paths.length; i++) {
        const value = follow(message, paths[i]!);
        if (value !== undefined) anything[i] = 1;
        table.columns[i]![row] = numberOf(value);
      }
      return true;
    },
    fault(rows) {
      const empty = anything.indexOf(0);
      if (rows === 0 || empty < 0) return null;
      const [column, path] = Object.entries(fields)[empty]!;
      return {
        reason: "wrong-type",
        message: `found no message of ${type} with an element at ${path} (column ${column}): its array is shorter`,
        hint: "count array elements from 0",
      };
    },
  };
}

/** Whether a type's definition has a number at a path; false where the definition cannot be read. */
export function hasField(connection: LogConnection, path: string): boolean {
  const definitions = definitionsOf(connection);
  if (typeof definitions === "string") return false;
  const root = rootOf(definitions);
  return root !== undefined && faultOfPath(stepsOf(path), root, definitions) === null;
}

function noDefinition({ type, definition }: LogConnection): DecoderFault {
  const found = definition.trim() === "" ? "no definition" : "a definition that is no ROS message text";
  return {
    reason: "wrong-type",
    message: `found ${found} of ${type} in the log, expected one to find \`fields:\` by`,
    hint: "record the topic with a recorder that stores message definitions (.msg)",
  };
}

function stepsOf(path: string): Step[] {
  return path
    .replace(/\[(\d+)\]/g, ".$1")
    .split(".")
    .map((step) => (/^\d+$/.test(step) ? Number(step) : step));
}

function partsOf(definition: Definition): Definition["definitions"] {
  return definition.definitions.filter((field) => field.isConstant !== true);
}

/** What is wrong with a path, in words; null where it leads to a number. */
function faultOfPath(steps: readonly Step[], root: Definition, definitions: readonly Definition[]): string | null {
  let definition: Definition | undefined = root;
  let leaf: Leaf | null = null;
  let before: Step | null = null;
  for (const step of steps) {
    const fault = faultOfStep(step, before, leaf);
    if (fault !== null) return fault;
    before = step;
    if (typeof step === "number") continue;
    leaf = definition === undefined ? null : (partsOf(definition).find((field) => field.name === step) ?? null);
    if (leaf === null) return `no field "${step}"`;
    const next: string = leaf.type;
    definition = leaf.isComplex === true ? definitions.find((each) => each.name === next) : undefined;
  }
  if (leaf === null || leaf.isComplex === true) return "a group of fields";
  if (leaf.type === "string" || leaf.type === "wstring") return "text";
  return leaf.isArray === true && typeof steps.at(-1) !== "number" ? "an array without an element" : null;
}

/** Why a step cannot be taken from the field that the steps before it led to (null: from the message itself). */
function faultOfStep(step: Step, before: Step | null, leaf: Leaf | null): string | null {
  const isElement = typeof before === "number";
  if (typeof step === "number") return leaf?.isArray !== true || isElement ? `no array before element ${step}` : null;
  if (leaf?.isArray === true && !isElement) return `an array at ${leaf.name}`;
  return leaf !== null && leaf.isComplex !== true ? `no part "${step}" in ${leaf.type} ${leaf.name}` : null;
}

/** The most paths that are listed: a type that holds itself has no end of them. */
const mostLeaves = 500;

/** Paths of the numbers of a type, the shallow ones first, arrays with element 0. */
function numericLeaves(root: Definition, definitions: readonly Definition[]): string[] {
  const leaves: string[] = [];
  const groups = [{ definition: root, prefix: "" }];
  for (let at = 0; at < groups.length && groups.length < mostLeaves && leaves.length < mostLeaves; at++) {
    const { definition, prefix } = groups[at]!;
    for (const field of partsOf(definition)) {
      const path = `${prefix}${field.name}${field.isArray === true ? "[0]" : ""}`;
      const inner = field.isComplex === true ? definitions.find((each) => each.name === field.type) : undefined;
      if (inner !== undefined) groups.push({ definition: inner, prefix: `${path}.` });
      else if (field.isComplex !== true && field.type !== "string" && field.type !== "wstring") leaves.push(path);
    }
  }
  return leaves;
}

function noSuchField(about: {
  type: string;
  column: string;
  path: string;
  found: string;
  leaves: readonly string[];
}): DecoderFault {
  const { type, column, path, found, leaves } = about;
  const near = nearestNames(path, leaves, 16);
  const rest = leaves.length > near.length ? `, and ${leaves.length - near.length} more` : "";
  return {
    reason: "wrong-type",
    message: `field ${path} (column ${column}) of ${type}: found ${found}, expected a number; there are ${near.join(", ") || "none"}${rest}`,
    hint: near[0] === undefined ? "name a topic that carries numbers" : `did you mean ${near[0]}?`,
  };
}

function follow(message: unknown, steps: readonly Step[]): unknown {
  let value = message;
  for (const step of steps) {
    if (value === null || typeof value !== "object") return undefined;
    value = (value as Record<string | number, unknown>)[step];
  }
  return value;
}

/** Whole numbers and truth as doubles, times and durations as seconds; NaN for what is no number. */
export function numberOf(value: unknown): number {
  if (typeof value === "number") return value;
  if (typeof value === "bigint" || typeof value === "boolean") return Number(value);
  if (value !== null && typeof value === "object" && "sec" in value && "nsec" in value)
    return (Number(value.sec) * 1e9 + Number(value.nsec)) / 1e9;
  return Number.NaN;
}
