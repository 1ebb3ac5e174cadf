import { logFormats } from "../../catalogue/logFormats.ts";
import { type LogPart, type MessageTarget, RecordDamage, type Wanted } from "../messages/LogPart.ts";
import { messageReader } from "../messages/messageReader.ts";
import { clockOfWords, joinedPart, timeRange } from "../messages/timeRange.ts";
import { withPackedMessages } from "../messages/wholeMessages.ts";
import { firstOf, type McapChunk, type McapLayout } from "./mcapLayout.ts";
import { openMcap } from "./openMcap.ts";
import { channelOf, opcode, schemaOf } from "./records.ts";
import { type Checksum, Pass, readChunk } from "./scanRecords.ts";
import { newWalk, type RecordVisitor } from "./walkRecords.ts";

/**
 * An MCAP file as a part of a log.
 *
 * @throws LogError  code `log-unreadable`: see `openMcap`
 */
export async function mcapPart(path: string): Promise<LogPart> {
  const { file, layouts, notes } = await openMcap(path);
  const [first, ...others] = layouts;
  if (others.length === 0) return { ...partOf(path, first), notes: [...first.notes, ...notes] };
  const parts = layouts.map((layout) => partOf(`${path} from byte ${layout.start}`, layout));
  return { ...joinedPart(path, parts, notes), bytes: file.bytes, close: () => file.close() };
}

function partOf(path: string, layout: McapLayout): LogPart {
  const { file, chunks, connections, counts, notes } = layout;
  const unverified = new Set<number>();
  const messagesOf = (ids: ReadonlySet<number>, wanted?: Wanted): number => {
    let sum = 0;
    for (const id of ids) {
      if (wanted === undefined) sum += counts.get(id) ?? 0;
      else for (const chunk of chunks) if (wanted(chunk.start, chunk.end)) sum += chunk.channels.get(id)?.count ?? 0;
    }
    return sum;
  };
  return {
    path,
    bytes: file.bytes,
    connections,
    ...timeRange(chunks),
    notes,
    compression: () =>
      [...new Set(chunks.map(({ compression }) => (compression === "" ? "none" : compression)))].sort(),
    messagesOf,
    rangeOf: (ids) => timeRange(chunks.flatMap(({ channels }) => [...ids].flatMap((id) => channels.get(id) ?? []))),
    readMessages: (targets, wanted) => readMessages(layout, targets, unverified, wanted),
    unverified: () => unverified.size,
    clock: clockOfWords,
    publication: (start) => {
      const clock = clockOfWords(start);
      // the last eight bytes of a message's record before its data
      return (view, at) => clock(view.getUint32(at - 4, true), view.getUint32(at - 8, true));
    },
    close: () => file.close(),
  };
}

/**
 * Hands the messages of the wanted channels to their targets, in the order of the file, chunk by chunk.
 * Chunks without a wanted message are not read.
 *
 * @param unverified  takes the positions of the chunks that could not be held against their checksum
 * @returns what could not be read, in words
 * @throws LogError  code `log-unreadable`: a chunk is packed in a way that is not known
 */
async function readMessages(
  layout: McapLayout,
  targets: ReadonlyMap<number, MessageTarget>,
  unverified: Set<number>,
  wanted?: Wanted,
): Promise<readonly string[]> {
  const pass = new Pass(layout.file);
  const notes: string[] = [];
  let lost = 0;
  const targetsOf = chunkTargets(layout, targets);
  for (const chunk of layout.chunks) {
    if (wanted !== undefined && !wanted(chunk.start, chunk.end)) continue;
    if (![...chunk.channels.keys()].some((id) => targets.has(id))) continue;
    const { visitor, contradictions } = targetsOf(chunk);
    const state = newWalk();
    let reason = "its messages are fewer than the index says";
    let checksum: Checksum = "fits";
    try {
      checksum = await readChunk(pass, chunk, visitor, state);
      if (checksum === "not held") unverified.add(chunk.position);
    } catch (cause) {
      if (!(cause instanceof RecordDamage)) throw cause;
      reason = cause.message;
    }
    const expected = [...chunk.channels].reduce((sum, [id, { count }]) => sum + (targets.has(id) ? count : 0), 0);
    const missing = chunk.messages - state.messages;
    if (missing > 0) {
      lost += missing;
      notes.push(`the chunk at byte ${chunk.position} lost ${missing} of ${chunk.messages} message(s): ${reason}`);
    } else if (contradictions.length > 0 || state.handed !== expected) {
      lost += Math.max(0, expected - state.handed);
      const why = contradictions.length === 0 ? "" : `: ${firstOf(contradictions)}`;
      notes.push(
        `the chunk at byte ${chunk.position} gave ${state.handed} message(s) where the index says ${expected}${why}`,
      );
    } else if (checksum === "differs")
      notes.push(
        `the chunk at byte ${chunk.position} does not match its checksum: its ${state.messages} message(s) are read as they are`,
      );
  }
  if (notes.length > 3)
    notes.splice(3, notes.length - 3, `${notes.length} damaged chunks lost ${lost} message(s) in all`);
  return notes;
}

/** Who wants the messages of a chunk, and what its own declarations contradict, in words, which its walk adds. */
interface ChunkTargets {
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
function chunkTargets(
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

/** Reads MCAP files of ROS 1 or ROS 2 messages. Received: the log time. */
export const mcapReader = messageReader(async (path) => withPackedMessages(await mcapPart(path)), logFormats.mcap.name);
