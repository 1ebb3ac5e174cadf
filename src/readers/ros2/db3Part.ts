import type { Nanoseconds } from "../../foundation/units.ts";
import {
  type LogConnection,
  type LogPart,
  type MessageTarget,
  RecordDamage,
  type Wanted,
} from "../messages/LogPart.ts";
import { Scratch } from "../messages/MessageDecoder.ts";
import { clockOfWords } from "../messages/timeRange.ts";
import { bagTables } from "./bagTables.ts";
import { indexMessages, type MessageIndex } from "./messageIndex.ts";
import { PageFile } from "./sqlite/PageFile.ts";
import { gatherRecord } from "./sqlite/record.ts";
import { strayMessages } from "./strayMessages.ts";

const mostNamed = 5;

/** What is said of messages whose topic_id is in no row of the table of topics; null where there are none. */
function withoutTopic(index: MessageIndex, known: ReadonlyMap<number, unknown>): string | null {
  const numbers = new Set<number>();
  let count = 0;
  for (let row = 0; row < index.count; row++) {
    const topic = index.topic[row]!;
    if (known.has(topic)) continue;
    count++;
    if (numbers.size <= mostNamed) numbers.add(topic);
  }
  if (count === 0) return null;
  const named = [...numbers].slice(0, mostNamed).join(", ") + (numbers.size > mostNamed ? " ..." : "");
  return `${count} message(s) belong to no row of the table of topics (topic_id ${named}): left out`;
}

/**
 * An SQLite file of a ROS 2 bag as a part of a log. Received: the row's timestamp.
 *
 * Any version of the storage: columns are found by their names, definitions where the file has them (since version 4).
 *
 * @throws LogError  code `log-unreadable`: no SQLite database, or none with topics and messages
 */
export function db3Part(path: string): LogPart {
  const file = new PageFile(path);
  try {
    const { messages, tables, connections, notes } = bagTables(file);
    const index = indexMessages(file, messages, (walk) => strayMessages(file, messages, tables, connections, walk));
    const orphans = withoutTopic(index, connections);
    return {
      ...partOf(file, index, connections),
      notes: [...notes, ...index.notes, ...(orphans === null ? [] : [orphans])],
    };
  } catch (error) {
    file.close();
    throw error;
  }
}

function partOf(
  file: PageFile,
  index: MessageIndex,
  connections: ReadonlyMap<number, LogConnection>,
): Omit<LogPart, "notes"> {
  const instant = (row: number): Nanoseconds => (BigInt(index.high[row]!) << 32n) + BigInt(index.low[row]!);
  const wantedRow = (row: number, wanted: Wanted | undefined): boolean =>
    wanted === undefined || wanted(instant(row), instant(row));
  const rangeOf = (isWanted: (topic: number) => boolean): { start: Nanoseconds | null; end: Nanoseconds | null } => {
    let [first, last] = [-1, -1];
    const isBefore = (a: number, b: number): boolean =>
      index.high[a]! < index.high[b]! || (index.high[a] === index.high[b] && index.low[a]! < index.low[b]!);
    for (let row = 0; row < index.count; row++) {
      if (!isWanted(index.topic[row]!)) continue;
      if (first < 0 || isBefore(row, first)) first = row;
      if (last < 0 || isBefore(last, row)) last = row;
    }
    return { start: first < 0 ? null : instant(first), end: last < 0 ? null : instant(last) };
  };
  return {
    path: file.path,
    bytes: file.bytes,
    connections,
    ...rangeOf((topic) => connections.has(topic)),
    compression: () => ["none"],
    messagesOf: (ids, wanted) => {
      let count = 0;
      for (let row = 0; row < index.count; row++) if (ids.has(index.topic[row]!) && wantedRow(row, wanted)) count++;
      return count;
    },
    rangeOf: (ids) => rangeOf((topic) => ids.has(topic)),
    readMessages: async (targets, wanted) => readMessages(file, index, targets, (row) => wantedRow(row, wanted)),
    clock: clockOfWords,
    close: () => file.close(),
  };
}

function readMessages(
  file: PageFile,
  index: MessageIndex,
  targets: ReadonlyMap<number, MessageTarget>,
  isWanted: (row: number) => boolean,
): readonly string[] {
  const scratch = new Scratch();
  let lost = 0;
  let reason = "";
  for (let row = 0; row < index.count; row++) {
    const target = targets.get(index.topic[row]!);
    if (target === undefined || !isWanted(row)) continue;
    const length = index.length[row]!;
    const local = index.local[row]!;
    const dataAt = index.dataAt[row]!;
    const dataLength = index.dataLength[row]!;
    try {
      const page = index.page[row]!;
      const offset = index.offset[row]!;
      if (local === length) {
        const { view, at } = file.page(page);
        const from = at + offset + dataAt;
        target(index.high[row]!, index.low[row]!, view, from, from + dataLength);
      } else {
        // no row can be longer than the pages it lies on
        if (length > file.pages * file.pageSize) throw new RecordDamage(`a message claims ${dataLength} bytes`);
        const bytes = scratch.take(length);
        gatherRecord(file, { rowid: row, page, offset, length, local }, bytes);
        const view = new DataView(bytes.buffer, bytes.byteOffset, length);
        target(index.high[row]!, index.low[row]!, view, dataAt, dataAt + dataLength);
      }
    } catch (cause) {
      if (!(cause instanceof RecordDamage)) throw cause;
      lost++;
      if (reason === "") reason = cause.message;
    }
  }
  return lost === 0 ? [] : [`${lost} message(s) cannot be read (${reason})`];
}
