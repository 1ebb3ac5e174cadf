import { RecordDamage } from "../messages/LogPart.ts";
import { type Channel, channelOf, opcode, type Schema, schemaOf } from "./records.ts";

/** A channel's own number has two bytes: from here on are those of channels that were declared again as something else. */
const firstAgain = 2 ** 16;
/** No log declares channels again so often. */
const mostAgain = 1000;
/** Stands for the connection of messages that follow the declarations beyond these. */
export const tooOften = -1;

/**
 * The schemas and channels of a file, and which declaration of a channel is in force.
 *
 * Records of one number have to be alike. Where a channel is declared again as something else, each declaration is a
 * connection of its own, and messages belong to the last one before them. Which of two schemas a channel means cannot be
 * known: it then has a type that nothing can decode.
 *
 * @source MCAP specification, version 0, "Schema (op=0x03)" and "Channel (op=0x04)"
 */
export class Declarations {
  readonly schemas = new Map<number, Schema>();
  /** by connection, whose number is the channel's unless that was taken */
  readonly channels = new Map<number, Channel>();
  /** what contradicts itself, in words */
  readonly notes: string[] = [];
  /** connection of a channel, where the last declaration made it another than the channel's own number */
  readonly #inForce = new Map<number, number>();
  readonly #twice = new Set<number>();
  readonly #connections = new Map<string, number>();

  /** Takes a schema or channel record for what follows it. Records that are none are left out. */
  declare(op: number, bytes: Uint8Array): void {
    try {
      if (op === opcode.schema) this.#schema(schemaOf(bytes));
      else if (op === opcode.channel) this.#channel(channelOf(bytes));
    } catch (cause) {
      if (!(cause instanceof RecordDamage)) throw cause;
    }
  }

  /** The connection of messages that name a channel here. */
  of(channel: number): number {
    return this.#inForce.size === 0 ? channel : (this.#inForce.get(channel) ?? channel);
  }

  /** The connection of a declaration that was met before; null where there is none. */
  connectionOf(channel: Channel): number | null {
    return this.#connections.get(keyOf(channel)) ?? null;
  }

  /** Whether a schema is the one that was declared, or known to be declared twice. */
  agrees(schema: Schema): boolean {
    const first = this.schemas.get(schema.id);
    return first === undefined || this.#twice.has(schema.id) || isSameSchema(first, schema);
  }

  /** What is in force here, for those who start from here: connections by channel, where they differ. */
  inForce(): ReadonlyMap<number, number> {
    return new Map(this.#inForce);
  }

  #channel(channel: Channel): void {
    const connection = this.connectionOf(channel) ?? this.#added(channel);
    if (connection === channel.id) this.#inForce.delete(channel.id);
    else this.#inForce.set(channel.id, connection);
  }

  /** The connection of a declaration that is new. */
  #added(channel: Channel): number {
    const { id, topic, schema } = channel;
    const first = this.channels.get(id);
    if (first !== undefined && this.notes.length >= mostAgain) return tooOften;
    const connection = first === undefined ? id : firstAgain + this.channels.size;
    this.channels.set(connection, channel);
    this.#connections.set(keyOf(channel), connection);
    if (first !== undefined)
      this.notes.push(
        `channel ${id} is declared as ${first.topic} (schema ${first.schema}) and again as ${topic} (schema ${schema}): each message is taken by the declaration before it`,
      );
    return connection;
  }

  #schema(schema: Schema): void {
    const { id, name, data } = schema;
    const first = this.schemas.get(id);
    // a copy: the bytes are a window that is filled again
    if (first === undefined) this.schemas.set(id, { ...schema, data: data.slice() });
    else if (!this.#twice.has(id) && !isSameSchema(first, schema)) {
      this.#twice.add(id);
      const types = first.name === name ? `${name} in two definitions` : `${first.name} or ${name}`;
      this.schemas.set(id, { id, name: types, encoding: "", data: new Uint8Array() });
      this.notes.push(`schema ${id} is declared twice, as ${types}: its channels are not read`);
    }
  }
}

/** What tells declarations apart. */
function keyOf({ id, schema, topic, encoding }: Channel): string {
  return `${id} ${schema} ${encoding.length} ${encoding} ${topic}`;
}

function isSameSchema(a: Schema, b: Schema): boolean {
  return a.name === b.name && a.encoding === b.encoding && Buffer.compare(a.data, b.data) === 0;
}
