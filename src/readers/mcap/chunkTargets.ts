import type { MessageTarget } from "../messages/LogPart.ts";
import { RecordDamage } from "../messages/RecordDamage.ts";
import type { McapChunk, McapLayout } from "./mcapLayout.ts";
import { channelOf, opcode, schemaOf } from "./records.ts";
import type { RecordVisitor } from "./walkRecords.ts";

/** Who wants the messages of a chunk, and what its own declarations contradict, in words, which its walk adds. */
export interface ChunkTargets {
  readonly visitor: RecordVisitor;
  readonly contradictions: readonly string[];
}

/**
 * Targets by the channels that messages name, kept to the declaration in force: a record within a chunk may change it.
 *
 * A scan knows all declarations. An index holds one of each channel: another that is met ends what may be read of it, for
 * the chunks behind, too, until the channel is declared as the index has it.
 *
 * @param targets  by connection
 * @returns what is to be asked for each chunk, in the order of the file
 */
export function chunkTargets(
  { declarations }: Pick<McapLayout, "declarations">,
  targets: ReadonlyMap<number, MessageTarget>,
): (chunk: McapChunk) => ChunkTargets {
  const { channels } = declarations;
  // connections by channel as far as was read; null: one that is not known
  const met = new Map<number, number | null>();
  const otherSchemas = new Set<number>();
  return (chunk) => {
    const here = new Map<number, MessageTarget>();
    const contradictions: string[] = [];
    const point = (channel: number, connection: number | null): void => {
      const target = connection === null ? undefined : targets.get(connection);
      if (target === undefined || otherSchemas.has(channels.get(connection!)?.schema ?? 0)) here.delete(channel);
      else here.set(channel, target);
    };
    const known = chunk.inForce ?? met;
    for (const connection of targets.keys()) {
      const channel = channels.get(connection)?.id ?? connection;
      const inForce = known.get(channel);
      point(channel, inForce === undefined ? channel : inForce);
    }
    const channelMet = (bytes: Uint8Array): void => {
      const channel = channelOf(bytes);
      const connection = declarations.connectionOf(channel);
      met.set(channel.id, connection);
      point(channel.id, connection);
      const declared = channels.get(channel.id);
      if (connection === null && declared !== undefined)
        contradictions.push(
          `channel ${channel.id}, ${declared.topic} (schema ${declared.schema}) by the index, is declared as ${channel.topic} (schema ${channel.schema})`,
        );
    };
    const schemaMet = (bytes: Uint8Array): void => {
      const schema = schemaOf(bytes);
      const agrees = declarations.agrees(schema);
      if (agrees && !otherSchemas.has(schema.id)) return;
      if (agrees) otherSchemas.delete(schema.id);
      else {
        otherSchemas.add(schema.id);
        contradictions.push(`schema ${schema.id} is declared otherwise (${schema.name}) than by the index`);
      }
      for (const { id, schema: used } of channels.values())
        if (used === schema.id) point(id, met.get(id) === undefined ? id : met.get(id)!);
    };
    const described = (op: number, bytes: Uint8Array): void => {
      try {
        if (op === opcode.channel) channelMet(bytes);
        else schemaMet(bytes);
      } catch (cause) {
        if (!(cause instanceof RecordDamage)) throw cause;
      }
    };
    return { visitor: { targets: here, described }, contradictions };
  };
}
