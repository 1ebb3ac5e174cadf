import type { Nanoseconds } from "../../foundation/units.ts";
import type { LogConnection, LogFile } from "../messages/LogPart.ts";
import { builtInDefinition } from "../ros2/builtInDefinition.ts";
import type { Declarations } from "./Declarations.ts";

/** Messages of one connection in one chunk. */
export interface Share {
  readonly count: number;
  readonly start: Nanoseconds;
  readonly end: Nanoseconds;
}

/** A chunk, or a stretch of records that lie outside of chunks. */
export interface McapChunk {
  readonly kind: "chunk" | "loose";
  /** where its record, or the first of its records, starts */
  readonly position: number;
  /** from there to its end */
  readonly length: number;
  /** first and last receipt time, start <= end */
  readonly start: Nanoseconds;
  readonly end: Nanoseconds;
  /** its messages */
  readonly messages: number;
  /** "" for none */
  readonly compression: string;
  /** by connection that has messages in it */
  readonly channels: ReadonlyMap<number, Share>;
  /** length of its records that is really there and sound; null: all of it */
  readonly available: number | null;
  /** connections by channel where it starts, of channels that were declared again as something else */
  readonly inForce?: ReadonlyMap<number, number>;
}

/** An MCAP file opened: everything but the messages. */
export interface McapLayout {
  readonly file: LogFile;
  /** where its first magic lies: not at 0 where it was joined to another file */
  readonly start: number;
  readonly connections: ReadonlyMap<number, LogConnection>;
  readonly declarations: Declarations;
  /** in the order of the file, only those with messages */
  readonly chunks: readonly McapChunk[];
  /** messages by connection */
  readonly counts: ReadonlyMap<number, number>;
  /** what was lost and how the rest was found, in words */
  readonly notes: readonly string[];
}

const text = new TextDecoder();

/** Channels with their schemas, as the readers of messages want them. A channel without schema has a type without name. */
export function connectionsOf({ channels, schemas }: Declarations): Map<number, LogConnection> {
  return new Map(
    [...channels].map(([id, { schema, topic, encoding, metadata }]) => {
      const found = schemas.get(schema);
      const type = found?.name ?? "";
      const own = found === undefined ? "" : text.decode(found.data);
      // a recorder that did not find the definition stores an empty one, whose encoding may be empty too
      const isEmpty = own.trim() === "";
      const connection: LogConnection = {
        id,
        topic,
        type,
        encoding,
        md5: encoding === "ros1" ? (metadata.get("md5sum") ?? "") : "",
        definition: isEmpty && encoding === "cdr" ? builtInDefinition(type) : own,
        definitionFormat: isEmpty || /^ros[12]msg$/.test(found?.encoding ?? "") ? "msg" : "other",
      };
      return [id, connection];
    }),
  );
}

/** Messages by connection. */
export function countsOf(chunks: readonly McapChunk[]): Map<number, number> {
  const counts = new Map<number, number>();
  for (const { channels } of chunks)
    for (const [id, { count }] of channels) counts.set(id, (counts.get(id) ?? 0) + count);
  return counts;
}

/** The first three, and how many more there are. */
export function firstOf(all: readonly (string | number)[], separator = "; "): string {
  const more = all.length > 3 ? `${separator}and ${all.length - 3} more` : "";
  return all.slice(0, 3).join(separator) + more;
}
