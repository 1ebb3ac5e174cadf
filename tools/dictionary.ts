import { jsonSchemaOf } from "../src/contract/jsonSchemas.ts";

/** As far as the dictionary reads it. */
interface Schema {
  readonly type?: string | readonly string[];
  readonly unit?: string;
  readonly description?: string;
  readonly const?: unknown;
  readonly enum?: readonly string[];
  readonly anyOf?: readonly Schema[];
  readonly properties?: Readonly<Record<string, Schema>>;
  readonly additionalProperties?: Schema | boolean;
  readonly propertyNames?: Schema;
  readonly items?: Schema;
  readonly prefixItems?: readonly Schema[];
}
interface Row {
  readonly path: string;
  readonly type: string;
  readonly unit: string;
  readonly what: string;
}

/**
 * The data dictionary of evaluation.json, from the schema that it is checked by: Markdown tables, one for each of its parts, a row
 * for each key. `runs[]` is each entry of a list, `clocks.*` each entry by its name; keys that hold the same stand in one row.
 */
export function evaluationDictionary(): string {
  const parts = Object.entries((jsonSchemaOf("evaluation") as Schema).properties!).map(([key, value]) => {
    const rows = rowsOf(value, key);
    return `### ${key}\n\n| key | type | unit | what it is |\n|---|---|---|---|\n${rows.map(rowText).join("\n")}\n`;
  });
  return parts.join("\n");
}

function rowsOf(value: Schema, path: string): Row[] {
  const { inner, nullable } = withoutNull(value);
  const row = {
    path,
    type: `${typeOf(inner)}${nullable ? " or null" : ""}`,
    unit: unitOf(inner) ?? "",
    what: value.description ?? inner.description ?? "",
  };
  return [row, ...below(inner, path)];
}

/** The rows of what a list or an object holds. */
function below(inner: Schema, path: string): Row[] {
  if (Array.isArray(inner.prefixItems)) return [];
  if (inner.type === "array")
    return inner.items === undefined ? [] : below(withoutNull(inner.items).inner, `${path}[]`);
  const open = inner.additionalProperties;
  if (typeof open === "object" && inner.properties === undefined && Object.keys(open).length > 0)
    return below(withoutNull(open).inner, `${path}.${namesOf(inner.propertyNames)}`);
  const alike = new Map<string, { keys: string[]; value: Schema }>();
  for (const [key, value] of Object.entries(inner.properties ?? {})) {
    const text = JSON.stringify(value);
    alike.set(text, { keys: [...(alike.get(text)?.keys ?? []), key], value });
  }
  return [...alike.values()].flatMap(({ keys, value }) => rowsOf(value, `${path}.${keys.join("/")}`));
}

const namesOf = (names: Schema | undefined): string => (names?.enum === undefined ? "*" : names.enum.join("/"));

function withoutNull(value: Schema): { readonly inner: Schema; readonly nullable: boolean } {
  if (Array.isArray(value.type) && value.type.length === 2 && value.type[1] === "null")
    return { inner: { ...value, type: value.type[0] as string }, nullable: true };
  const kinds = value.anyOf?.filter(({ type }) => type !== "null") ?? [];
  return kinds.length === 1 && value.anyOf!.length === 2
    ? { inner: kinds[0]!, nullable: true }
    : { inner: value, nullable: false };
}

function typeOf({
  type,
  enum: choices,
  const: only,
  prefixItems,
  items,
  additionalProperties,
  properties,
  anyOf,
}: Schema): string {
  if (only !== undefined) return JSON.stringify(only);
  if (choices !== undefined) return choices.length > 12 ? "one of the checks' codes" : choices.join(", ");
  if (prefixItems !== undefined) return `${prefixItems.length} numbers`;
  if (type === "array") return `list of ${plural(items === undefined ? {} : withoutNull(items).inner)}`;
  if (anyOf !== undefined) return anyOf.map(typeOf).join(" or ");
  if (type === "object" && properties === undefined && additionalProperties !== undefined) return "mapping by name";
  const words = { string: "text", integer: "whole number", boolean: "true or false" } as const;
  return words[type as keyof typeof words] ?? String(type ?? "any");
}

function plural(items: Schema): string {
  if (items.enum !== undefined && items.enum.length <= 12) return items.enum.join(", ");
  const words = {
    string: "texts",
    number: "numbers",
    integer: "whole numbers",
    object: "objects",
    array: "lists",
  } as const;
  return words[items.type as keyof typeof words] ?? "values";
}

/** Of numbers; of a pair or a list, that of its members. */
function unitOf(value: Schema): string | undefined {
  if (value.unit !== undefined) return value.unit;
  const member =
    value.prefixItems?.[0] ?? (value.type === "array" ? value.items : undefined) ?? value.additionalProperties;
  return typeof member === "object" ? unitOf(withoutNull(member).inner) : undefined;
}

const cell = (text: string): string => text.replaceAll("|", "\\|").replaceAll("<", "&lt;");
const rowText = ({ path, type, unit, what }: Row): string =>
  `| \`${path}\` | ${cell(type)} | ${cell(unit)} | ${cell(what)} |`;
