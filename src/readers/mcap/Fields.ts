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
