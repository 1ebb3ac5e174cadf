import { nearestNames } from "../../foundation/nearest.ts";
import type { LogConnection } from "./LogPart.ts";
import type { DecoderFault, MessageDecoder } from "./MessageDecoder.ts";
import type { Wire } from "./Wire.ts";
import { type Definition, definitionsOf, rootOf, wholeMessages } from "./wholeMessages.ts";

/** Where a message keeps several bodies: an array whose elements have one name or number and a pose. */
export interface BodyLayout {
  readonly definitions: Definition[];
  /** from the message to the array, from an element to its name, its position and, where it has one, its attitude */
  readonly array: string;
  readonly name: string;
  readonly position: readonly string[];
  readonly attitude: readonly string[] | null;
}

const names = ["x", "y", "z", "qx", "qy", "qz", "qw"] as const;
const isText = /^w?string$/;
const isWhole = /^u?int\d+$/;
const isReal = /^float(32|64)$/;
/** Whole numbers of an element that say which body it is, and are no counts or flags of it. */
const numberWords = /^(.*_)?(id|number|index|name|label)$/i;
/** A pose lies no deeper in an element than pose.pose.position. */
const deepest = 3;

/**
 * Finds in a type's definition the bodies that its messages hold, without a list of types; null where there are none, or no ROS
 * definition says so. Trees of transforms are read as such.
 */
export function bodyLayout(connection: LogConnection): BodyLayout | null {
  const definitions = definitionsOf(connection);
  if (typeof definitions === "string") return null;
  const typeOf = (name: string): Definition | undefined => definitions.find((each) => each.name === name);
  for (const field of rootOf(definitions)?.definitions ?? []) {
    const element = field.isArray === true && field.isComplex === true ? typeOf(field.type) : undefined;
    const called = element === undefined ? null : callingField(element);
    const position = called === null ? null : pathTo(element!, typeOf, ["x", "y", "z"], false);
    if (called === null || position === null) continue;
    const attitude = pathTo(element!, typeOf, ["x", "y", "z", "w"], true);
    return { definitions, array: field.name, name: called, position, attitude };
  }
  return null;
}

/** The field that says which body an element is: its one text, else a whole number that is no count or flag; null: none does. */
function callingField(element: Definition): string | null {
  const single = element.definitions.filter(({ isArray, isConstant }) => isArray !== true && isConstant !== true);
  const texts = single.filter(({ type }) => isText.test(type));
  const called =
    texts.length === 1 ? texts[0] : single.find(({ type, name }) => isWhole.test(type) && numberWords.test(name));
  return called?.name ?? null;
}

/** The way to the first group of just these real numbers; null where there is none. */
function pathTo(
  type: Definition,
  typeOf: (name: string) => Definition | undefined,
  wanted: readonly string[],
  isAttitude: boolean,
  depth = 0,
): readonly string[] | null {
  const reals = type.definitions
    .filter((field) => isReal.test(field.type) && field.isArray !== true)
    .map(({ name }) => name);
  if (wanted.every((name) => reals.includes(name)) && reals.includes("w") === isAttitude) return [];
  if (depth === deepest) return null;
  for (const field of type.definitions) {
    // a speed has x, y and z as well
    if (field.isComplex !== true || field.isArray === true || /twist|vel|acc|linear|angular|size/i.test(field.name))
      continue;
    const inner = typeOf(field.type);
    const rest = inner === undefined ? null : pathTo(inner, typeOf, wanted, isAttitude, depth + 1);
    if (rest !== null) return [field.name, ...rest];
  }
  return null;
}

/** The name of a body as a manifest writes it. */
function nameOf(element: Record<string, unknown>, layout: BodyLayout): string {
  return String(element[layout.name]);
}

/** The bodies of one message. */
export function bodiesIn(message: unknown, layout: BodyLayout): { readonly name: string; readonly element: unknown }[] {
  const elements = (message as Record<string, unknown>)[layout.array];
  return Array.isArray(elements)
    ? elements.map((element: Record<string, unknown>) => ({ name: nameOf(element, layout), element }))
    : [];
}

/**
 * Decodes one body of messages that hold several, by its name or number: a message without it gives no row, so that a body that
 * drops out leaves a gap of its own, whatever stands in its place. Slow as `fieldsDecoder` is.
 */
export function bodiesDecoder(connection: LogConnection, wire: Wire, body: string): MessageDecoder | DecoderFault {
  const layout = bodyLayout(connection);
  if (layout === null)
    return {
      reason: "wrong-type",
      message: `found no array of bodies with names and poses in ${connection.type}`,
      hint: "leave body: out, or say with `fields:` where its numbers are",
    };
  const messages = wholeMessages(connection, layout.definitions, wire);
  const others = new Set<string>();
  const columns = layout.attitude === null ? names.slice(0, 3) : names;
  return {
    columns: [...columns],
    stamped: messages.stamped,
    decode(view, at, end, table) {
      const message = messages.read(view, at, end);
      if (message === null) return false;
      const bodies = bodiesIn(message, layout);
      const own = bodies.findIndex(({ name }) => name === body);
      for (const { name } of own < 0 ? bodies : bodies.slice(0, own)) others.add(name);
      if (own < 0) return true;
      const row = messages.addRow(view, at, end, table);
      if (row < 0) return false;
      const numbers = poseOf(bodies[own]!.element, layout);
      for (let i = 0; i < columns.length; i++) table.columns[i]![row] = numbers[i]!;
      return true;
    },
    fault(rows) {
      if (rows > 0) return null;
      const near = nearestNames(body, [...others], 12);
      return {
        reason: "child",
        message: `found no body "${body}", only ${near.join(", ") || "none"}`,
        hint: near[0] === undefined ? "record the capture with its bodies defined" : `did you mean body: ${near[0]}?`,
      };
    },
  };
}

/** x y z, and qx qy qz qw where the layout has an attitude. */
function poseOf(element: unknown, { position, attitude }: BodyLayout): number[] {
  const place = groupAt(element, position);
  const turn = attitude === null ? null : groupAt(element, attitude);
  return [
    ...["x", "y", "z"].map((axis) => Number(place[axis])),
    ...(turn === null ? [] : ["x", "y", "z", "w"].map((axis) => Number(turn[axis]))),
  ];
}

function groupAt(element: unknown, path: readonly string[]): Record<string, unknown> {
  return path.reduce((value, step) => (value as Record<string, unknown>)[step], element) as Record<string, unknown>;
}
