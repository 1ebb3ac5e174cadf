import { writeFileSync } from "node:fs";

/** A message to be put into a bag: its bytes are already serialised. */
export interface BagMessage {
  readonly topic: string;
  readonly type: string;
  readonly md5?: string;
  readonly definition?: string;
  /** tells publishers of the same topic apart; one connection each */
  readonly publisher?: string;
  readonly latching?: boolean;
  /** seconds and nanoseconds */
  readonly received: readonly [number, number];
  readonly data: Uint8Array;
}

export interface BagOptions {
  /** messages per chunk; default 10 */
  readonly perChunk?: number;
  /** leave index, connection and chunk info records out and index_pos 0, as a recorder that was cut off does */
  readonly unindexed?: boolean;
  /** name of the compression, and how a chunk's data become packed */
  readonly compression?: string;
  readonly pack?: (data: Buffer) => Uint8Array;
  /** more fields of the bag header */
  readonly headerFields?: Readonly<Record<string, string>>;
}

/** A bag and where its parts lie, for tests that damage it. */
export interface BuiltBag {
  readonly bytes: Buffer;
  readonly chunkPositions: readonly number[];
  /** by chunk: where its data start */
  readonly dataPositions: readonly number[];
  readonly indexPosition: number;
}

/** Writes a ROS 1 bag (version 2.0), after wiki.ros.org/Bags/Format/2.0. */
export function writeBag(path: string, messages: readonly BagMessage[], options: BagOptions = {}): BuiltBag {
  const bag = buildBag(messages, options);
  writeFileSync(path, bag.bytes);
  return bag;
}

export function buildBag(messages: readonly BagMessage[], options: BagOptions = {}): BuiltBag {
  const { perChunk = 10, compression = "none", pack = (data: Buffer): Uint8Array => data } = options;
  const parts: Buffer[] = [];
  const chunkPositions: number[] = [];
  const dataPositions: number[] = [];
  let position = 0;
  const put = (part: Buffer): void => {
    parts.push(part);
    position += part.length;
  };
  put(Buffer.from("#ROSBAG V2.0\n"));
  const headerAt = parts.length;
  put(bagHeader(0, 0, 0, options));
  const connections = new Map<string, { id: number; record: Buffer }>();
  const infos: Buffer[] = [];
  for (let first = 0; first < messages.length; first += perChunk) {
    const share = messages.slice(first, first + perChunk);
    const entries = new Map<number, { time: readonly [number, number]; offset: number }[]>();
    const data: Buffer[] = [];
    let offset = 0;
    const add = (record: Buffer): void => {
      data.push(record);
      offset += record.length;
    };
    for (const message of share) {
      const key = `${message.topic}\n${message.type}\n${message.publisher ?? ""}`;
      let connection = connections.get(key);
      if (connection === undefined) {
        connection = { id: connections.size, record: connectionRecord(connections.size, message) };
        connections.set(key, connection);
        add(connection.record);
      }
      const list = entries.get(connection.id) ?? [];
      list.push({ time: message.received, offset });
      entries.set(connection.id, list);
      add(record({ op: u8(2), conn: u32(connection.id), time: time(message.received) }, message.data));
    }
    const whole = Buffer.concat(data);
    const chunk = record({ op: u8(5), compression: Buffer.from(compression), size: u32(whole.length) }, pack(whole));
    chunkPositions.push(position);
    dataPositions.push(position + 8 + chunk.readUInt32LE(0));
    infos.push(chunkInfo(position, share, entries));
    put(chunk);
    if (options.unindexed) continue;
    for (const [id, list] of entries) {
      const rows = list.map((entry) => Buffer.concat([time(entry.time), u32(entry.offset)]));
      put(record({ op: u8(4), ver: u32(1), conn: u32(id), count: u32(list.length) }, Buffer.concat(rows)));
    }
  }
  const indexPosition = position;
  if (!options.unindexed) {
    for (const { record } of connections.values()) put(record);
    for (const info of infos) put(info);
    parts[headerAt] = bagHeader(indexPosition, connections.size, infos.length, options);
  }
  return { bytes: Buffer.concat(parts), chunkPositions, dataPositions, indexPosition };
}

export const u8 = (value: number): Buffer => Buffer.from([value]);

export function u32(value: number): Buffer {
  const bytes = Buffer.alloc(4);
  bytes.writeUInt32LE(value);
  return bytes;
}

export function u64(value: number): Buffer {
  const bytes = Buffer.alloc(8);
  bytes.writeBigUInt64LE(BigInt(value));
  return bytes;
}

export function u16s(...values: number[]): Buffer {
  const bytes = Buffer.alloc(2 * values.length);
  for (const [i, value] of values.entries()) bytes.writeUInt16LE(value, 2 * i);
  return bytes;
}

export function f32s(...values: number[]): Buffer {
  const bytes = Buffer.alloc(4 * values.length);
  for (const [i, value] of values.entries()) bytes.writeFloatLE(value, 4 * i);
  return bytes;
}

export function f64s(...values: number[]): Buffer {
  const bytes = Buffer.alloc(8 * values.length);
  for (const [i, value] of values.entries()) bytes.writeDoubleLE(value, 8 * i);
  return bytes;
}

/** A string as ROS 1 serialises it: length and bytes. */
export function str(value: string | Uint8Array): Buffer {
  const bytes = Buffer.from(value);
  return Buffer.concat([u32(bytes.length), bytes]);
}

/** A std_msgs/Header. */
export function header(stamp: readonly [number, number], frame: string | Uint8Array = "", seq = 0): Buffer {
  return Buffer.concat([u32(seq), time(stamp), str(frame)]);
}

/** Two 32-bit words: seconds and nanoseconds. */
export function time([sec, nsec]: readonly [number, number]): Buffer {
  return Buffer.concat([u32(sec), u32(nsec)]);
}

/** One record: the fields of its header, then its data, each with its length before it. */
export function record(fields: Readonly<Record<string, Uint8Array>>, data: Uint8Array): Buffer {
  const head = Object.entries(fields).map(([name, value]) => str(Buffer.concat([Buffer.from(`${name}=`), value])));
  const length = head.reduce((sum, field) => sum + field.length, 0);
  return Buffer.concat([u32(length), ...head, u32(data.length), data]);
}

function bagHeader(indexPosition: number, connections: number, chunks: number, options: BagOptions): Buffer {
  const more = Object.entries(options.headerFields ?? {}).map(([name, value]) => [name, Buffer.from(value)]);
  const fields = {
    op: u8(3),
    index_pos: u64(indexPosition),
    conn_count: u32(connections),
    chunk_count: u32(chunks),
    ...(Object.fromEntries(more) as Record<string, Buffer>),
  };
  const bare = record(fields, Buffer.alloc(0)).length;
  return record(fields, Buffer.alloc(4096 - bare, " "));
}

function connectionRecord(id: number, message: BagMessage): Buffer {
  const inner = {
    topic: Buffer.from(message.topic),
    type: Buffer.from(message.type),
    md5sum: Buffer.from(message.md5 ?? "*"),
    message_definition: Buffer.from(message.definition ?? ""),
    ...(message.publisher === undefined ? {} : { callerid: Buffer.from(message.publisher) }),
    ...(message.latching ? { latching: Buffer.from("1") } : {}),
  };
  const data = Object.entries(inner).map(([name, value]) => str(Buffer.concat([Buffer.from(`${name}=`), value])));
  return record({ op: u8(7), conn: u32(id), topic: Buffer.from(message.topic) }, Buffer.concat(data));
}

function chunkInfo(
  position: number,
  messages: readonly BagMessage[],
  entries: ReadonlyMap<number, readonly unknown[]>,
): Buffer {
  const times = messages.map(({ received }) => received).sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  const counts = [...entries].map(([id, list]) => Buffer.concat([u32(id), u32(list.length)]));
  return record(
    {
      op: u8(6),
      ver: u32(1),
      chunk_pos: u64(position),
      start_time: time(times[0]!),
      end_time: time(times.at(-1)!),
      count: u32(entries.size),
    },
    Buffer.concat(counts),
  );
}

/** What a definition ends with that holds a header and poses, as recorders write it. */
export const headerAndPose = `================================================================================
MSG: std_msgs/Header
uint32 seq
time stamp
string frame_id
================================================================================
MSG: geometry_msgs/Pose
geometry_msgs/Point position
geometry_msgs/Quaternion orientation
================================================================================
MSG: geometry_msgs/Point
float64 x
float64 y
float64 z
================================================================================
MSG: geometry_msgs/Quaternion
float64 x
float64 y
float64 z
float64 w
`;
