import { logFormats } from "../../catalogue/logFormats.ts";
import type { Nanoseconds } from "../../foundation/units.ts";
import { type LogFile, type LogPart, type MessageTarget, RecordDamage } from "../messages/LogPart.ts";
import { Scratch } from "../messages/MessageDecoder.ts";
import { messageReader } from "../messages/messageReader.ts";
import { clockOfSeconds, rangeWithin } from "../messages/timeRange.ts";
import { openBag } from "./openBag.ts";
import { type BagChunk, type BagLayout, instant, opcode, readRecordHeader, uint32Field } from "./recordHeader.ts";
import { readChunk, readChunkHeader } from "./scanBag.ts";

/** An entry of an index record: receipt time (seconds, nanoseconds) and place in the chunk. */
const entryBytes = 12;

/**
 * First and last receipt time of some connections in one chunk, from the index records behind it, or from the scan
 * where there was one. Where the index records are damaged: the chunk's own times.
 */
function readIndexRange(
  file: LogFile,
  chunk: BagChunk,
  ids: ReadonlySet<number>,
): { start: Nanoseconds; end: Nanoseconds } {
  let start: Nanoseconds | null = null;
  let end: Nanoseconds | null = null;
  const take = (time: Nanoseconds): void => {
    if (start === null || time < start) start = time;
    if (end === null || time > end) end = time;
  };
  for (const id of ids) {
    const share = chunk.shares.get(id);
    if (share?.start != null && share.end !== null) {
      take(share.start);
      take(share.end);
    }
  }
  if (start === null) for (const time of indexTimes(file, chunk, ids)) take(time);
  return { start: start ?? chunk.start, end: end ?? chunk.end };
}

function* indexTimes(file: LogFile, chunk: BagChunk, ids: ReadonlySet<number>): Generator<Nanoseconds> {
  const header = readChunkHeader(file, chunk.position);
  if (header === null) return;
  let position = header.dataPosition + header.dataLength;
  while (position < chunk.limit) {
    const record = readRecordHeader(file.slice(position, 256));
    if (record?.op !== opcode.index) return;
    const data = position + record.dataOffset;
    position = data + record.dataLength;
    const id = uint32Field(record.fields, "conn");
    if (id === null || !ids.has(id) || position > chunk.limit) continue;
    const bytes = file.slice(data, record.dataLength);
    const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
    for (let at = 0; at + entryBytes <= bytes.length; at += entryBytes)
      yield instant(view.getUint32(at, true), view.getUint32(at + 4, true));
  }
}

/**
 * A ROS 1 bag as a part of a log.
 *
 * @throws LogError  code `log-unreadable`: see `openBag`
 */
export async function bagPart(path: string): Promise<LogPart> {
  const layout = await openBag(path);
  const { file, chunks, connections, start, end, notes } = layout;
  const shareOf = (chunk: BagChunk, ids: ReadonlySet<number>): number => {
    let sum = 0;
    for (const id of ids) sum += chunk.shares.get(id)?.count ?? 0;
    return sum;
  };
  return {
    path,
    bytes: file.bytes,
    connections,
    start,
    end,
    notes,
    compression: () => {
      const names = chunks.map((chunk) => readChunkHeader(file, chunk.position)?.compression ?? "damaged");
      return [...new Set(names)].sort();
    },
    messagesOf: (ids, wanted) => {
      let sum = 0;
      for (const chunk of chunks) if (wanted?.(chunk.start, chunk.end) ?? true) sum += shareOf(chunk, ids);
      return sum;
    },
    rangeOf: (ids) =>
      rangeWithin(
        chunks.filter((chunk) => shareOf(chunk, ids) > 0),
        (chunk) => readIndexRange(file, chunk, ids),
      ),
    readMessages: (targets, wanted) =>
      readMessages(
        wanted === undefined ? layout : { ...layout, chunks: chunks.filter((each) => wanted(each.start, each.end)) },
        targets,
      ),
    clock: clockOfSeconds,
    close: () => file.close(),
  };
}

/**
 * Hands the messages of the wanted connections to their targets, in the order of the file, chunk by chunk.
 * Chunks without a wanted message are not read.
 *
 * @returns what could not be read, in words, one entry per damaged chunk; where a chunk has as many messages as its index says, but
 *          not of the same connections, too
 * @throws LogError  code `log-unreadable`: a chunk is packed in a way that is not known
 */
async function readMessages(
  layout: BagLayout,
  targets: ReadonlyMap<number, MessageTarget>,
): Promise<readonly string[]> {
  const scratch = new Scratch();
  const damaged: string[] = [];
  let lost = 0;
  const { counters, counting } = countedTargets(targets);
  for (const chunk of layout.chunks) {
    const wanted = [...chunk.shares.keys()].some((id) => targets.has(id));
    if (!wanted) continue;
    for (const counter of counters.values()) counter.met = 0;
    const times = { earliest: Number.POSITIVE_INFINITY, latest: 0 };
    const seen = (_: number, sec: number): void => {
      if (sec < times.earliest) times.earliest = sec;
      if (sec > times.latest) times.latest = sec;
    };
    const expected = [...chunk.shares.values()].reduce((sum, { count }) => sum + count, 0);
    const state = { next: 0, needed: 0, messages: 0 };
    let reason = "its messages are fewer than the index says";
    try {
      await readChunk(layout.file, chunk, { targets: counting, seen }, scratch, state);
    } catch (cause) {
      if (!(cause instanceof RecordDamage)) throw cause;
      reason = cause.message;
    }
    if (state.messages >= expected) {
      if (state.messages > 0) damaged.push(...contradictions(layout, chunk, counters, times));
      continue;
    }
    lost += expected - state.messages;
    damaged.push(
      `the chunk at byte ${chunk.position} lost ${expected - state.messages} of ${expected} message(s): ${reason}`,
    );
  }
  if (damaged.length <= 3) return damaged;
  return [...damaged.slice(0, 3), `${damaged.length} damaged chunks lost ${lost} message(s) in all`];
}

/** Where a chunk has all messages that its index counts, but not of the same topics, or not from its times. */
function contradictions(
  { connections }: BagLayout,
  { position, shares, start, end }: BagChunk,
  counters: ReadonlyMap<number, { readonly met: number }>,
  { earliest, latest }: { readonly earliest: number; readonly latest: number },
): string[] {
  const counts = [...counters].flatMap(([id, { met }]) => {
    const share = shares.get(id)?.count ?? 0;
    const topic = connections.get(id)?.topic ?? `connection ${id}`;
    return met === share
      ? []
      : [`the chunk at byte ${position} holds ${met} message(s) of ${topic}, its index counts ${share}`];
  });
  // all times of the log are counted from the first of these
  const [first, last] = [start, end].map((time) => Number(time / 1_000_000_000n));
  if (first! >= earliest && last! <= latest) return counts;
  return [
    ...counts,
    `the chunk at byte ${position} is said to hold messages of ${first} s to ${last} s, it holds some of ${earliest} s to ${latest} s`,
  ];
}

/** The same targets, and how many messages each has met. */
function countedTargets(targets: ReadonlyMap<number, MessageTarget>) {
  const counters = new Map<number, { met: number }>();
  const counting = new Map<number, MessageTarget>();
  for (const [id, target] of targets) {
    const counter = { met: 0 };
    counters.set(id, counter);
    counting.set(id, (first, second, view, at, end) => {
      counter.met++;
      target(first, second, view, at, end);
    });
  }
  return { counters, counting };
}

/** Reads ROS 1 bags of version 2.0. */
export const rosbagReader = messageReader(bagPart, logFormats.rosbag1.name);
