import { RecordDamage } from "../messages/LogPart.ts";

const text = new TextDecoder();

/**
 * The fields of one record, read one after the other; little-endian. Nothing is read beyond the record.
 *
 * @throws RecordDamage  a field reaches beyond the record, or is larger than a file can be
 */
export class Fields {
  readonly #bytes: Uint8Array;
  readonly #view: DataView;
  #at = 0;

  constructor(bytes: Uint8Array) {
    this.#bytes = bytes;
    this.#view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  }

  /** bytes read so far */
  get at(): number {
    return this.#at;
  }

  uint16(): number {
    return this.#view.getUint16(this.#pass(2), true);
  }

  uint32(): number {
    return this.#view.getUint32(this.#pass(4), true);
  }

  /** An instant: nanoseconds. */
  time(): bigint {
    return this.#view.getBigUint64(this.#pass(8), true);
  }

  /** A place in a file, a length or a count. */
  size(): number {
    const value = Number(this.time());
    if (value > Number.MAX_SAFE_INTEGER) throw new RecordDamage(`a size of ${value} bytes`);
    return value;
  }

  bytes(): Uint8Array {
    const length = this.uint32();
    const from = this.#pass(length);
    return this.#bytes.subarray(from, from + length);
  }

  /** UTF-8, with a replacement character for what is none. */
  string(): string {
    return text.decode(this.bytes());
  }

  /** Pairs, whose length in bytes stands before them. */
  map<Key, Value>(key: (fields: Fields) => Key, value: (fields: Fields) => Value): Map<Key, Value> {
    const inner = new Fields(this.bytes());
    const pairs = new Map<Key, Value>();
    while (inner.#at < inner.#bytes.length) pairs.set(key(inner), value(inner));
    return pairs;
  }

  #pass(length: number): number {
    const at = this.#at;
    if (at + length > this.#bytes.length) throw new RecordDamage("a field reaches beyond its record");
    this.#at = at + length;
    return at;
  }
}

/** Kinds of records. @source MCAP specification, version 0 */
export const opcode = {
  header: 0x01,
  footer: 0x02,
  schema: 0x03,
  channel: 0x04,
  message: 0x05,
  chunk: 0x06,
  messageIndex: 0x07,
  chunkIndex: 0x08,
  statistics: 0x0b,
  dataEnd: 0x0f,
} as const;

/** The first and last bytes of a file of version 0. */
export const magic = Uint8Array.of(0x89, 0x4d, 0x43, 0x41, 0x50, 0x30, 0x0d, 0x0a);

/** @param length  how many of its bytes must be there */
export function isMagic(bytes: Uint8Array, length: number = magic.length): boolean {
  return magic.every((byte, i) => i >= length || bytes[i] === byte);
}

/** The kind of a record (one byte) and the length of what follows (eight). */
export const headBytes = 9;

/** Of a footer, behind its head: where the summary and its offsets start, and its checksum. */
export const footerBytes = 20;

/** Channel, sequence, log time and publish time of a message, before its own bytes. */
export const messageHeadBytes = 22;

interface RecordHead {
  readonly op: number;
  /** length of the record without its head */
  readonly length: number;
}

/** The head of a record; null where the bytes are too few. A length beyond every file stays what it is. */
export function readHead(bytes: Uint8Array): RecordHead | null {
  if (bytes.length < headBytes) return null;
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  return { op: view.getUint8(0), length: view.getUint32(1, true) + view.getUint32(5, true) * 4_294_967_296 };
}

export interface Schema {
  readonly id: number;
  readonly name: string;
  readonly encoding: string;
  readonly data: Uint8Array;
}

/** What a schema record holds after its head; its data are a view. Throws RecordDamage, as all of these do. */
export function schemaOf(bytes: Uint8Array): Schema {
  const fields = new Fields(bytes);
  return { id: fields.uint16(), name: fields.string(), encoding: fields.string(), data: fields.bytes() };
}

export interface Channel {
  readonly id: number;
  readonly schema: number;
  readonly topic: string;
  readonly encoding: string;
  readonly metadata: ReadonlyMap<string, string>;
}

export function channelOf(bytes: Uint8Array): Channel {
  const fields = new Fields(bytes);
  return {
    id: fields.uint16(),
    schema: fields.uint16(),
    topic: fields.string(),
    encoding: fields.string(),
    metadata: fields.map(
      (inner) => inner.string(),
      (inner) => inner.string(),
    ),
  };
}

export interface ChunkHead {
  readonly start: bigint;
  readonly end: bigint;
  /** length of the records once unpacked */
  readonly size: number;
  /** of the unpacked records; 0: none */
  readonly crc: number;
  /** "" for none */
  readonly compression: string;
  /** length of the packed records */
  readonly packed: number;
  /** bytes before the packed records, the record's head not counted */
  readonly bytes: number;
}

export function chunkHeadOf(bytes: Uint8Array): ChunkHead {
  const fields = new Fields(bytes);
  return {
    start: fields.time(),
    end: fields.time(),
    size: fields.size(),
    crc: fields.uint32(),
    compression: fields.string(),
    packed: fields.size(),
    bytes: fields.at,
  };
}

export interface ChunkIndex {
  readonly start: bigint;
  readonly end: bigint;
  readonly position: number;
  readonly length: number;
  /** length of the index records behind the chunk */
  readonly indexLength: number;
  readonly compression: string;
}

export function chunkIndexOf(bytes: Uint8Array): ChunkIndex {
  const fields = new Fields(bytes);
  const [start, end, position, length] = [fields.time(), fields.time(), fields.size(), fields.size()];
  fields.bytes(); // where the index record of each channel lies
  return { start, end, position, length, indexLength: fields.size(), compression: fields.string() };
}

export interface Statistics {
  readonly messages: number;
  readonly chunks: number;
  /** messages by channel */
  readonly counts: ReadonlyMap<number, number>;
}

export function statisticsOf(bytes: Uint8Array): Statistics {
  const fields = new Fields(bytes);
  const messages = fields.size();
  fields.uint16(); // schemas
  fields.uint32(); // channels
  fields.uint32(); // attachments
  fields.uint32(); // metadata
  const chunks = fields.uint32();
  fields.time(); // first message
  fields.time(); // last message
  return {
    messages,
    chunks,
    counts: fields.map(
      (inner) => inner.uint16(),
      (inner) => inner.size(),
    ),
  };
}
