import { createRequire } from "node:module";
import { McapWriter } from "@mcap/core";
import { lz4Stored } from "../rosbag/poses.ts";
import { definitionOf } from "./definitions.ts";

/** A message to be put into a file: its bytes are already serialised. */
export interface McapMessage {
  readonly topic: string;
  readonly type: string;
  /** nanoseconds */
  readonly logTime: bigint;
  readonly data: Uint8Array;
  readonly encoding?: string;
  readonly schemaEncoding?: string;
  /** default: as ROS has it, where the type is one of `definitions.ts` */
  readonly definition?: string;
  readonly metadata?: Readonly<Record<string, string>>;
}

export interface McapOptions {
  readonly compression?: "none" | "lz4" | "zstd";
  /** bytes after which a chunk is closed; default 1000 */
  readonly chunkSize?: number;
  readonly writer?: Partial<ConstructorParameters<typeof McapWriter>[0]>;
}

interface Zstd {
  readonly isLoaded: Promise<unknown>;
  compress(bytes: Uint8Array): Uint8Array;
}

/** Writes an MCAP file with the format's own library. */
export async function buildMcap(messages: readonly McapMessage[], options: McapOptions = {}): Promise<Buffer> {
  const { compression = "none", chunkSize = 1000 } = options;
  const pack = await packer(compression);
  const parts: Buffer[] = [];
  let length = 0n;
  const writer = new McapWriter({
    writable: {
      write: async (bytes) => {
        parts.push(Buffer.from(bytes));
        length += BigInt(bytes.length);
      },
      position: () => length,
    },
    chunkSize,
    ...(pack === null ? {} : { compressChunk: (data) => ({ compression, compressedData: pack(Buffer.from(data)) }) }),
    ...options.writer,
  });
  await writer.start({ profile: "", library: "a test" });
  const schemas = new Map<string, number>();
  const channels = new Map<string, number>();
  let sequence = 0;
  for (const message of messages) {
    const { topic, type, encoding = "cdr", schemaEncoding = "ros2msg", logTime, data, metadata = {} } = message;
    const definition = message.definition ?? definitionOf(type.replace("/msg/", "/"));
    const schemaKey = [type, schemaEncoding, definition].join("\n");
    let schemaId = type === "" ? 0 : schemas.get(schemaKey);
    if (schemaId === undefined) {
      schemaId = await writer.registerSchema({ name: type, encoding: schemaEncoding, data: Buffer.from(definition) });
      schemas.set(schemaKey, schemaId);
    }
    const channelKey = [topic, encoding, schemaId].join("\n");
    let channelId = channels.get(channelKey);
    if (channelId === undefined) {
      channelId = await writer.registerChannel({
        schemaId,
        topic,
        messageEncoding: encoding,
        metadata: new Map(Object.entries(metadata)),
      });
      channels.set(channelKey, channelId);
    }
    await writer.addMessage({ channelId, sequence: sequence++, logTime, publishTime: logTime - 1n, data });
  }
  await writer.end();
  return Buffer.concat(parts);
}

async function packer(compression: "none" | "lz4" | "zstd"): Promise<((data: Buffer) => Uint8Array) | null> {
  if (compression === "none") return null;
  if (compression === "lz4") return lz4Stored;
  const zstd = createRequire(import.meta.url)("@foxglove/wasm-zstd") as Zstd;
  await zstd.isLoaded;
  return (data) => zstd.compress(data);
}

/** One record of a file: kind, where it starts, and how long it is with its head. */
export interface McapRecord {
  readonly op: number;
  readonly position: number;
  readonly length: number;
}

/** The records of a whole file between its first and last eight bytes. */
export function recordsOf(bytes: Buffer): McapRecord[] {
  const records: McapRecord[] = [];
  for (let position = 8; position < bytes.length - 8; ) {
    const length = 9 + Number(bytes.readBigUInt64LE(position + 1));
    records.push({ op: bytes[position]!, position, length });
    position += length;
  }
  return records;
}

const start = 1_700_000_000_000_000_000n;

/** `count` poses of a hexacopter, 10 ms apart from `first` on, x = index, stamped 4 ms before receipt. */
export function cdrPoses(
  count: number,
  options: { topic?: string; first?: number; frame?: string | Uint8Array } = {},
): McapMessage[] {
  const { topic = "/mocap/airframe", first = 0, frame = "arena" } = options;
  return Array.from({ length: count }, (_, i) => {
    const logTime = start + 1_000_000_000n + 10_000_000n * BigInt(first + i);
    return {
      topic,
      type: "geometry_msgs/msg/PoseStamped",
      logTime,
      data: cdrPose(logTime - 4_000_000n, frame, first + i),
    };
  });
}

function cdrPose(stamp: bigint, frame: string | Uint8Array, x: number): Buffer {
  const name = Buffer.concat([Buffer.from(frame), Buffer.alloc(1)]);
  const values = (12 + name.length + 7) & ~7;
  const bytes = Buffer.alloc(4 + values + 56);
  bytes[1] = 1;
  bytes.writeUInt32LE(Number(stamp / 1_000_000_000n), 4);
  bytes.writeUInt32LE(Number(stamp % 1_000_000_000n), 8);
  bytes.writeUInt32LE(name.length, 12);
  bytes.set(name, 16);
  for (const [i, value] of [x, -1, 2.5, 0, 0, 0, 1].entries()) bytes.writeDoubleLE(value, 4 + values + 8 * i);
  return bytes;
}
