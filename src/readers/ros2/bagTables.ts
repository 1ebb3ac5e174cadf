import { LogError } from "../../foundation/errors.ts";
import type { LogConnection } from "../messages/LogPart.ts";
import { builtInDefinition } from "./builtInDefinition.ts";
import type { PageFile } from "./sqlite/PageFile.ts";
import { readRows, type Table, tablesOf } from "./sqlite/tables.ts";

/** What the tables of a bag say of its messages. */
export interface BagTables {
  readonly messages: Table;
  /** all tables; null where the list of them is damaged */
  readonly tables: readonly Table[] | null;
  /** topics by their numbers */
  readonly connections: ReadonlyMap<number, LogConnection>;
  readonly notes: readonly string[];
}

/**
 * Reads all tables of a bag but its messages.
 *
 * @throws LogError  code `log-unreadable`: no table of messages or of topics, or not with the columns that it takes
 */
export function bagTables(file: PageFile): BagTables {
  const { tables, notes: listNotes } = tablesOf(file);
  const damage = [...file.notes, ...listNotes];
  const messages = needed(file.path, tables, damage, "messages", ["topic_id", "timestamp", "data"]);
  // a number of a row is kept as a double, which does not hold nanoseconds since 1970
  if (messages.rowNumber === "timestamp" || messages.rowNumber === "topic_id")
    throw new LogError(
      "log-unreadable",
      `found the table ${messages.name} whose ${messages.rowNumber} stands for the number of the row, expected a column of its own`,
      { place: file.path, hint: "copy its rows into a table whose key is a column id, as recorders make it" },
    );
  const topics = needed(file.path, tables, damage, "topics", ["id", "name", "type", "serialization_format"]);
  const { rows, notes } = readRows(file, topics, ["id", "name", "type", "serialization_format"]);
  const definitions = definitionsOf(file, tables.get("message_definitions"), notes);
  const connections = new Map<number, LogConnection>();
  for (const { id, name, type, serialization_format } of rows) {
    // no message can name a topic without a number
    if (typeof id !== "number") continue;
    const stored = definitions.get(String(type));
    // a recorder that did not find the definition stores an empty one
    const own = stored === undefined || stored.text.trim() === "" ? undefined : stored;
    connections.set(id, {
      id,
      topic: String(name ?? ""),
      type: String(type ?? ""),
      encoding: String(serialization_format ?? ""),
      md5: "",
      definition: own?.text ?? builtInDefinition(String(type)),
      definitionFormat: own === undefined || own.encoding === "ros2msg" ? "msg" : "other",
    });
  }
  return {
    messages,
    tables: listNotes.length > 0 ? null : [...tables.values()],
    connections,
    notes: [...damage, ...notes],
  };
}

function needed(
  path: string,
  tables: ReadonlyMap<string, Table>,
  damage: readonly string[],
  name: string,
  columns: readonly string[],
): Table {
  const table = tables.get(name);
  if (table?.withoutRowid)
    throw new LogError(
      "log-unreadable",
      `found the table ${table.name} made WITHOUT ROWID, expected one whose rows have numbers, as recorders make it`,
      { place: path, hint: "copy its rows into a table made without that option" },
    );
  const lacking = table === undefined ? [] : columns.filter((column) => !table.columns.has(column));
  if (table !== undefined && lacking.length === 0) return table;
  const [what, names] =
    table === undefined
      ? ["tables", Array.from(tables.values(), (each) => each.name)]
      : ["columns", [...table.columns.keys()]];
  // what is wrong with the file may well be why it is not there
  const found = [`its ${what}: ${names.sort().join(", ") || "none"}`, ...damage].join("; ");
  throw new LogError(
    "log-unreadable",
    table === undefined
      ? `found an SQLite database without the table ${name} (${found}), expected a ROS 2 bag`
      : `found the table ${table.name} without ${lacking.join(", ")} (${found}), expected a ROS 2 bag`,
    { place: path, hint: "name the .db3 file, or the folder with its metadata.yaml, as the recorder wrote it" },
  );
}

function definitionsOf(
  file: PageFile,
  table: Table | undefined,
  notes: string[],
): Map<string, { text: string; encoding: string }> {
  if (table === undefined) return new Map();
  if (table.withoutRowid) {
    notes.push(`table ${table.name} was made WITHOUT ROWID and is left out`);
    return new Map();
  }
  const { rows, notes: lost } = readRows(file, table, ["topic_type", "encoding", "encoded_message_definition"]);
  notes.push(...lost);
  return new Map(
    rows.map(({ topic_type, encoding, encoded_message_definition }) => [
      String(topic_type),
      { text: String(encoded_message_definition ?? ""), encoding: String(encoding ?? "") },
    ]),
  );
}
