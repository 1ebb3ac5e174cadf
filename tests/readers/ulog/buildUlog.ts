/** A ULog in the making, message by message, as the format's specification lays them out. */
export class UlogBuilder {
  readonly #parts: Buffer[] = [];

  constructor(start = 5_000_000, version = 1) {
    const header = Buffer.alloc(16);
    Buffer.from([0x55, 0x4c, 0x6f, 0x67, 0x01, 0x12, 0x35, version]).copy(header);
    header.writeBigUInt64LE(BigInt(start), 8);
    this.#parts.push(header);
  }

  message(kind: string, body: Buffer): this {
    const head = Buffer.alloc(3);
    head.writeUInt16LE(body.length, 0);
    head[2] = kind.charCodeAt(0);
    this.#parts.push(head, body);
    return this;
  }

  format(text: string): this {
    return this.message("F", Buffer.from(text));
  }

  flags(incompatible: number, offsets: readonly number[] = []): this {
    const body = Buffer.alloc(40);
    body[8] = incompatible;
    offsets.forEach((offset, k) => {
      body.writeBigUInt64LE(BigInt(offset), 16 + 8 * k);
    });
    return this.message("B", body);
  }

  parameter(key: string, value: number): this {
    const body = Buffer.alloc(1 + key.length + 4);
    body[0] = key.length;
    body.write(key, 1);
    if (key.startsWith("float")) body.writeFloatLE(value, 1 + key.length);
    else body.writeInt32LE(value, 1 + key.length);
    return this.message("P", body);
  }

  subscribe(id: number, name: string, instance = 0): this {
    const body = Buffer.alloc(3 + Buffer.byteLength(name));
    body[0] = instance;
    body.writeUInt16LE(id, 1);
    body.write(name, 3);
    return this.message("A", body);
  }

  data(id: number, fields: Buffer): this {
    const body = Buffer.alloc(2 + fields.length);
    body.writeUInt16LE(id, 0);
    fields.copy(body, 2);
    return this.message("D", body);
  }

  raw(bytes: Buffer): this {
    this.#parts.push(bytes);
    return this;
  }

  get length(): number {
    return this.#parts.reduce((sum, part) => sum + part.length, 0);
  }

  finish(): Buffer {
    return Buffer.concat(this.#parts);
  }
}

/** Fields one after the other: bigint as uint64, number as float. */
export function fields(...values: readonly (bigint | number)[]): Buffer {
  return Buffer.concat(
    values.map((value) => {
      const bytes = Buffer.alloc(typeof value === "bigint" ? 8 : 4);
      if (typeof value === "bigint") bytes.writeBigUInt64LE(value);
      else bytes.writeFloatLE(value);
      return bytes;
    }),
  );
}
