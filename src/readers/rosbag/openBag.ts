import * as library from "@foxglove/rosbag/dist/cjs/BagReader.js";
import { LogError } from "../../foundation/errors.ts";
import { type LogConnection, LogFile } from "../messages/LogPart.ts";
import { timeRange } from "../messages/timeRange.ts";
import {
  type BagChunk,
  type BagLayout,
  type BagRecord,
  instant,
  opcode,
  readRecordHeader,
  textField,
  uint32Field,
  uint64Field,
} from "./recordHeader.ts";
import { scanBag } from "./scanBag.ts";

const magic = "#ROSBAG V2.0\n";
/** What one message takes in the index records behind its chunk: time and place. */
const indexEntryBytes = 12;
/** The longest index that is read whole, bytes: far above that of a day's recording. */
const longestIndex = 2 ** 28;

/**
 * Opens a ROS 1 bag and reads its index; where there is none or it cannot be trusted, scans the file instead.
 *
 * Memory: the index. The caller closes `layout.file`.
 *
 * @throws LogError  code `log-unreadable`: not a file, not a bag of version 2.0, encrypted, or cut off within its
 *                   first record
 */
export async function openBag(path: string): Promise<BagLayout> {
  const file = new LogFile(path);
  try {
    const header = readBagHeader(file);
    const reason = indexFault(file, header);
    if (reason !== null) return await scanBag(file, header.end, reason);
    try {
      return await readIndex(file, header);
    } catch (cause) {
      if (cause instanceof LogError) throw cause;
      return await scanBag(file, header.end, "its index is damaged");
    }
  } catch (cause) {
    file.close();
    throw cause;
  }
}

interface BagHeader {
  readonly indexPosition: number;
  readonly connections: number;
  readonly chunks: number;
  /** where the first record after the header starts */
  readonly end: number;
}

function readBagHeader(file: LogFile): BagHeader {
  const start = new TextDecoder("latin1").decode(file.slice(0, 32));
  if (!start.startsWith(magic)) throw notThisVersion(file, start);
  const record = readRecordHeader(file.slice(magic.length, 1 << 16));
  const fields = record?.fields ?? new Map<string, Uint8Array>();
  const indexPosition = uint64Field(fields, "index_pos");
  const connections = uint32Field(fields, "conn_count");
  const chunks = uint32Field(fields, "chunk_count");
  if (record?.op !== opcode.bagHeader || indexPosition === null || connections === null || chunks === null) {
    throw new LogError("log-unreadable", `found ${file.bytes} bytes without a whole bag header, expected one`, {
      place: file.path,
      hint: "the file was cut off or overwritten at its start; copy it again from the recorder",
    });
  }
  refuseEncrypted(file, record);
  return { indexPosition, connections, chunks, end: magic.length + record.dataOffset + record.dataLength };
}

function notThisVersion(file: LogFile, start: string): LogError {
  const version = /^#ROS(?:BAG|RECORD) V(\d+\.\d+)/.exec(start)?.[1];
  if (version === undefined)
    return new LogError("log-unreadable", "found a damaged first line, expected #ROSBAG V2.0", {
      place: file.path,
      hint: "copy the bag again from the recorder",
    });
  return new LogError("log-unreadable", `found a ROS bag of version ${version}, expected 2.0`, {
    place: file.path,
    hint: "convert it with `rosbag fix` or `rosbag reindex` of a ROS 1 installation",
  });
}

function refuseEncrypted(file: LogFile, record: BagRecord): void {
  const encryptor = textField(record.fields, "encryptor");
  if (encryptor === "" || encryptor.endsWith("NoEncryptor")) return;
  throw new LogError("log-unreadable", `found a bag encrypted with ${encryptor}, expected one that is not encrypted`, {
    place: file.path,
    hint: "decrypt it with `rosbag decompress` of a ROS 1 installation that has the key",
  });
}

/** Why the index cannot be read, in words; null where it looks sound. */
function indexFault(file: LogFile, header: BagHeader): string | null {
  const { indexPosition, connections, chunks, end } = header;
  if (indexPosition === 0) return end < file.bytes ? "it was not closed by its recorder and has no index" : null;
  if (indexPosition > file.bytes) return "it ends before its index";
  if (indexPosition < end) return "its index is said to lie within its header";
  if (connections === 0 && chunks === 0)
    return indexPosition < file.bytes || end < file.bytes ? "its index is empty" : null;
  if (file.bytes - indexPosition > longestIndex) return "its index is longer than an index can be";
  const first = readRecordHeader(file.slice(indexPosition, 1 << 16));
  return first?.op === opcode.connection ? null : "its index does not start with a topic";
}

async function readIndex(file: LogFile, header: BagHeader): Promise<BagLayout> {
  const nothing = header.connections === 0 && header.chunks === 0;
  if (nothing || header.indexPosition === 0) {
    return { file, connections: new Map(), chunks: [], start: null, end: null, notes: [] };
  }
  const reader = newBagReader({
    read: async (offset, length) => {
      if (length < 0 || offset > file.bytes) throw new RangeError("beyond the file");
      return file.slice(offset, length);
    },
    size: () => file.bytes,
  });
  const { connections: publishers, chunkInfos } = await reader.readConnectionsAndChunkInfo(
    header.indexPosition,
    header.connections,
    header.chunks,
  );
  const last = chunkInfos.at(-1) ?? publishers.at(-1);
  if (last?.end !== file.bytes || chunkInfos.length !== header.chunks)
    throw new RangeError("the index is not as long as the header says");

  const positions = chunkInfos.map((info) => info.chunkPosition).sort((a, b) => a - b);
  const following = new Map(positions.map((position, i) => [position, positions[i + 1] ?? header.indexPosition]));
  const chunks = chunkInfos
    .map((info): BagChunk => {
      if (info.chunkPosition < header.end || info.chunkPosition >= header.indexPosition)
        throw new RangeError("a chunk outside the file");
      const limit = following.get(info.chunkPosition)!;
      const messages = info.connections.reduce((sum, { count }) => sum + count, 0);
      // Columns are allocated by these counts; each message has an entry in the index records behind its chunk.
      if (messages * indexEntryBytes > limit - info.chunkPosition) throw new RangeError("more messages than bytes");
      const first = instant(info.startTime.sec, info.startTime.nsec);
      const last = instant(info.endTime.sec, info.endTime.nsec);
      // Where messages are not in time order some recorders write the first and last as they came.
      const [start, end] = first <= last ? [first, last] : [last, first];
      return {
        position: info.chunkPosition,
        limit,
        start,
        end,
        shares: new Map(info.connections.map(({ conn, count }) => [conn, { count, start: null, end: null }])),
        available: null,
      };
    })
    .sort((a, b) => a.position - b.position);
  const connections = new Map(
    publishers.map((connection): [number, LogConnection] => [
      connection.conn,
      {
        id: connection.conn,
        topic: connection.topic,
        type: connection.type ?? "",
        encoding: "ros1",
        md5: connection.md5sum ?? "",
        definition: connection.messageDefinition,
        definitionFormat: "msg",
      },
    ]),
  );
  return { file, connections, chunks, ...timeRange(chunks), notes: [] };
}

type BagReaderClass = typeof library.default;

/**
 * The library's index reader alone. Its front door also loads a parser of message definitions, which costs as long
 * as reading a short bag and which only `fields:` needs.
 *
 * @param source  the file: its length, and bytes by position
 */
function newBagReader(source: ConstructorParameters<BagReaderClass>[0]): InstanceType<BagReaderClass> {
  // A CommonJS default export arrives bare or one level down, as the loader or bundler sees fit.
  const exported = library.default as BagReaderClass | { readonly default: BagReaderClass };
  const BagReader = typeof exported === "function" ? exported : exported.default;
  return new BagReader(source);
}
