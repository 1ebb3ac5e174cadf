import type { LogConnection } from "./LogPart.ts";

/** One field as a definition writes it. */
interface Field {
  readonly type: string;
  readonly name: string;
  /** null: no array; "": of any length; else of a fixed or bounded length, as written */
  readonly array: string | null;
}

/** Whether a message definition's first field is a std_msgs/Header, whose stamp is then the message's. */
export function startsWithHeader(definition: string): boolean {
  const first = [...sections(definition).values()][0]?.[0];
  return first !== undefined && first.array === null && isHeader(first.type);
}

/**
 * How the numbers of a message type follow each other, from its definition: H header, d and f floating point, b h i q
 * whole numbers of 1, 2, 4 and 8 bytes, s text, T time, D duration; arrays of any length in brackets, those of a fixed
 * length written out.
 *
 * Two definitions with the same letters lie the same way, whatever their comments, constants and defaults.
 *
 * @returns null where the definition is empty or cannot be followed
 * @example layoutOf("std_msgs/Header header\nuint16[] channels") // => "H[h]"
 */
export function layoutOf(definition: string): string | null {
  const fields = sections(definition);
  const root = fields.get("");
  return root === undefined || root.length === 0 ? null : lettersOf(root, { fields, letters: new Map() });
}

/** A connection's layout where its definition is one that can be followed: ROS message text, not IDL. */
export function connectionLayout(connection: LogConnection): string | null {
  return connection.definitionFormat === "msg" ? layoutOf(connection.definition) : null;
}

const letters: Readonly<Record<string, string>> = {
  float64: "d",
  float32: "f",
  bool: "b",
  byte: "b",
  char: "b",
  int8: "b",
  uint8: "b",
  int16: "h",
  uint16: "h",
  int32: "i",
  uint32: "i",
  int64: "q",
  uint64: "q",
  string: "s",
  wstring: "w",
  time: "T",
  duration: "D",
  "builtin_interfaces/Time": "T",
  "builtin_interfaces/Duration": "D",
};

/** Longer than any layout of a type that is known by heart, letters. */
const longest = 1000;

/** Types with their fields, and the letters of those followed so far; null too while a type is being followed. */
interface Types {
  readonly fields: ReadonlyMap<string, readonly Field[]>;
  readonly letters: Map<string, string | null>;
}

function lettersOf(fields: readonly Field[], types: Types): string | null {
  let all = "";
  for (const { type, array } of fields) {
    const one = letterOf(type, types);
    if (one === null) return null;
    const count = array === null ? 1 : /^\d+$/.test(array) ? Number(array) : null;
    if (count !== null && one.length * count > longest) return null;
    all += count === null ? `[${one}]` : one.repeat(Math.min(count, longest));
    if (all.length > longest) return null;
  }
  return all;
}

function letterOf(type: string, types: Types): string | null {
  if (isHeader(type)) return "H";
  // a bounded string: string<=10
  const bare = withoutMsg(type.replace(/<=\d+$/, ""));
  if (Object.hasOwn(letters, bare)) return letters[bare]!;
  const known = types.letters.get(bare);
  if (known !== undefined) return known;
  types.letters.set(bare, null);
  // Within a package its types are written without its name.
  const inner = types.fields.get(bare) ?? [...types.fields].find(([name]) => name.endsWith(`/${bare}`))?.[1];
  const found = inner === undefined ? null : lettersOf(inner, types);
  types.letters.set(bare, found);
  return found;
}

function isHeader(type: string): boolean {
  return /^(std_msgs\/(msg\/)?)?Header$/.test(type);
}

/** A type's name without the /msg/ that ROS 2 puts into it. */
export function withoutMsg(type: string): string {
  return type.replace("/msg/", "/");
}

/**
 * A whole definition, as logs hold it: a type's own fields, then those of the types that it is made of.
 *
 * @param root      the type, without /msg/
 * @param fieldsOf  the text of a type's fields; null where it is not known
 * @returns "" where the type itself is not known
 */
export function assembleDefinition(root: string, fieldsOf: (type: string) => string | null): string {
  const needed = new Map<string, string>();
  const waiting = [root];
  for (let name = waiting.pop(); name !== undefined; name = waiting.pop()) {
    const fields = needed.has(name) ? null : fieldsOf(name);
    if (fields === null) continue;
    needed.set(name, fields);
    for (const { type } of sections(fields).get("") ?? []) {
      const bare = withoutMsg(type.replace(/<=\d+$/, ""));
      if (isHeader(type)) waiting.push("std_msgs/Header");
      else if (bare.includes("/")) waiting.push(bare);
      // within a package its types are written without its name
      else if (!Object.hasOwn(letters, bare)) waiting.push(`${root.split("/")[0]}/${bare}`, bare);
    }
  }
  const [own, ...others] = needed;
  if (own === undefined) return "";
  return [own[1], ...others.map(([name, fields]) => `${"=".repeat(80)}\nMSG: ${name}\n${fields}`)].join("\n");
}

/** The fields of each type a definition holds; the type itself is "". */
function sections(definition: string): Map<string, Field[]> {
  const types = new Map<string, Field[]>();
  let fields: Field[] = [];
  types.set("", fields);
  for (const line of definition.split("\n")) {
    const code = line.split("#")[0]!.trim();
    if (code.startsWith("===") || code === "") continue;
    const named = /^MSG:\s*(\S+)$/.exec(code);
    if (named !== null) {
      fields = [];
      types.set(withoutMsg(named[1]!), fields);
      continue;
    }
    const field = /^([A-Za-z][\w/]*(?:<=\d+)?)(?:\[(.*?)\])?\s+([A-Za-z]\w*)\s*(=?)/.exec(code);
    // with a sign of equality: a constant, which takes no bytes
    if (field !== null && field[4] !== "=") fields.push({ type: field[1]!, array: field[2] ?? null, name: field[3]! });
  }
  return types;
}
