import { McapRecordBuilder } from "@mcap/core";
import { cdrPoses } from "./buildMcap.ts";
import { definitionOf } from "./definitions.ts";

/** What a chunk of `writeRecords` holds, in this order. */
export type Entry =
  | { readonly schema: number; readonly name: string; readonly definition?: string }
  | { readonly channel: number; readonly topic: string; readonly of?: number }
  | { readonly poses: number; readonly on: number; readonly first: number };

/**
 * A file written record by record with the format's own library, whatever its rules are: poses of `cdrPoses` on channels
 * and schemas that may be declared again as something else.
 *
 * @param indexed  whether it has a summary, with the last declaration of each number
 */
export function writeRecords(chunks: readonly (readonly Entry[])[], indexed: boolean): Buffer {
  const file = new McapRecordBuilder();
  file.writeMagic();
  file.writeHeader({ profile: "ros2", library: "a test" });
  const last = new Map<string, (into: McapRecordBuilder) => void>();
  const indexes: ((into: McapRecordBuilder) => void)[] = [];
  const counts = new Map<number, bigint>();
  const all: bigint[] = [];
  for (const entries of chunks) {
    const inner = new McapRecordBuilder();
    const places = new Map<number, [bigint, bigint][]>();
    for (const entry of entries) {
      if ("poses" in entry)
        for (const [k, { logTime, data }] of cdrPoses(entry.poses, { first: entry.first }).entries()) {
          const own = places.get(entry.on) ?? [];
          places.set(entry.on, own);
          own.push([logTime, BigInt(inner.length)]);
          inner.writeMessage({ channelId: entry.on, sequence: k, logTime, publishTime: logTime, data });
          counts.set(entry.on, (counts.get(entry.on) ?? 0n) + 1n);
        }
      else {
        const write = (into: McapRecordBuilder): unknown =>
          "schema" in entry
            ? into.writeSchema({
                id: entry.schema,
                name: entry.name,
                encoding: "ros2msg",
                data: Buffer.from(entry.definition ?? definitionOf(entry.name.replace("/msg/", "/"))),
              })
            : into.writeChannel({
                id: entry.channel,
                schemaId: entry.of ?? 1,
                topic: entry.topic,
                messageEncoding: "cdr",
                metadata: new Map(),
              });
        write(inner);
        last.set("schema" in entry ? `s${entry.schema}` : `c${entry.channel}`, write);
      }
    }
    const times = [...places.values()].flat().map(([time]) => time);
    all.push(...times);
    const [start, end] = firstAndLast(times);
    const position = BigInt(file.length);
    file.writeChunk({
      messageStartTime: start,
      messageEndTime: end,
      uncompressedSize: BigInt(inner.length),
      uncompressedCrc: 0,
      compression: "",
      records: inner.buffer.slice(),
    });
    const chunkLength = BigInt(file.length) - position;
    const offsets = new Map<number, bigint>();
    for (const [channelId, records] of places) {
      offsets.set(channelId, BigInt(file.length));
      file.writeMessageIndex({ channelId, records });
    }
    const messageIndexLength = BigInt(file.length) - position - chunkLength;
    indexes.push((into) =>
      into.writeChunkIndex({
        messageStartTime: start,
        messageEndTime: end,
        chunkStartOffset: position,
        chunkLength,
        messageIndexOffsets: offsets,
        messageIndexLength,
        compression: "",
        compressedSize: BigInt(inner.length),
        uncompressedSize: BigInt(inner.length),
      }),
    );
  }
  file.writeDataEnd({ dataSectionCrc: 0 });
  const summaryStart = indexed ? BigInt(file.length) : 0n;
  if (indexed) {
    for (const write of [...last.values(), ...indexes]) write(file);
    file.writeStatistics({
      messageCount: BigInt(all.length),
      schemaCount: 1,
      channelCount: counts.size,
      attachmentCount: 0,
      metadataCount: 0,
      chunkCount: chunks.length,
      messageStartTime: firstAndLast(all)[0],
      messageEndTime: firstAndLast(all)[1],
      channelMessageCounts: counts,
    });
  }
  file.writeFooter({ summaryStart, summaryOffsetStart: 0n, summaryCrc: 0 });
  file.writeMagic();
  return Buffer.from(file.buffer);
}

function firstAndLast(times: readonly bigint[]): [bigint, bigint] {
  const sorted = [...times].sort((a, b) => Number(a - b));
  return [sorted[0]!, sorted.at(-1)!];
}
