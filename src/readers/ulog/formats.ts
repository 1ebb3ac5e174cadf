/** Where a number lies in a message, and how it is written. */
export interface Leaf {
  /** bytes after the message's first field */
  readonly offset: number;
  readonly type: string;
}

/** A format as its definition writes it. */
interface Field {
  readonly type: string;
  /** 0 for a single value */
  readonly count: number;
  readonly name: string;
}

const sizes: Readonly<Record<string, number>> = {
  int8_t: 1,
  uint8_t: 1,
  bool: 1,
  char: 1,
  int16_t: 2,
  uint16_t: 2,
  int32_t: 4,
  uint32_t: 4,
  float: 4,
  int64_t: 8,
  uint64_t: 8,
  double: 8,
};

/** A message's length is kept in two bytes. */
const longest = 65_535;
/** Formats hold formats a few levels deep; deeper ones hold themselves. */
const deepest = 16;

/**
 * The formats of a log: how the fields of its messages follow each other, packed without gaps, little-endian.
 *
 * @source PX4 User Guide, ULog File Format, section "F: Format Message"
 */
export class Formats {
  readonly #fields = new Map<string, readonly Field[]>();
  readonly #sizes = new Map<string, number | null>();

  /** Takes a definition such as "battery_status:uint64_t timestamp;float voltage_v;uint8_t[4] _padding0;". */
  add(definition: string): void {
    const colon = definition.indexOf(":");
    if (colon < 1) return;
    const fields = definition
      .slice(colon + 1)
      .split(";")
      .flatMap((text): Field[] => {
        const found = /^\s*([A-Za-z_]\w*)(?:\[(\d+)\])?\s+([A-Za-z_]\w*)\s*$/.exec(text);
        return found === null ? [] : [{ type: found[1]!, count: Number(found[2] ?? 0), name: found[3]! }];
      });
    this.#fields.set(definition.slice(0, colon), fields);
    this.#sizes.clear();
  }

  has(name: string): boolean {
    return this.#fields.has(name);
  }

  /** Least and most bytes of a message: padding at its end need not be written; null where the format cannot be followed. */
  sizeOf(name: string): readonly [number, number] | null {
    const fields = this.#fields.get(name);
    if (fields === undefined) return null;
    const last = fields.at(-1);
    const written = last?.name.startsWith("_padding") === true ? fields.slice(0, -1) : fields;
    const [least, most] = [this.#total(written, 0), this.#total(fields, 0)];
    return least === null || most === null ? null : [least, most];
  }

  /** Where the number at a path lies ("position[0]", "esc[2].esc_rpm", "x"); null where there is none. */
  leaf(name: string, path: string): Leaf | null {
    const steps = path.split(".");
    let fields = this.#fields.get(name);
    let offset = 0;
    for (const [k, step] of steps.entries()) {
      const found = /^([A-Za-z_]\w*)(?:\[(\d+)\])?$/.exec(step);
      if (found === null || fields === undefined) return null;
      const at = fields.findIndex((field) => field.name === found[1]);
      const field = fields[at];
      const before = field === undefined ? null : this.#total(fields.slice(0, at), 0);
      const one = field === undefined ? null : this.#size(field.type, 0);
      if (field === undefined || before === null || one === null) return null;
      const index = found[2] === undefined ? null : Number(found[2]);
      if (field.count > 0 !== (index !== null) || (index !== null && index >= field.count)) return null;
      offset += before + (index ?? 0) * one;
      if (k === steps.length - 1) return Object.hasOwn(sizes, field.type) ? { offset, type: field.type } : null;
      fields = this.#fields.get(field.type);
    }
    return null;
  }

  /** Paths of the numbers of a format, arrays with their first elements; at most `limit`. */
  paths(name: string, limit = 200, elements = 1): string[] {
    const found: string[] = [];
    const walk = (format: string, prefix: string, depth: number): void => {
      for (const { type, count, name: field } of this.#fields.get(format) ?? []) {
        if (found.length >= limit || field.startsWith("_padding")) continue;
        for (let k = 0; k < Math.max(1, Math.min(count, elements)); k++) {
          const path = `${prefix}${field}${count > 0 ? `[${k}]` : ""}`;
          if (Object.hasOwn(sizes, type)) found.push(path);
          else if (depth < deepest) walk(type, `${path}.`, depth + 1);
        }
      }
    };
    walk(name, "", 0);
    return found;
  }

  #total(fields: readonly Field[], depth: number): number | null {
    let sum = 0;
    for (const { type, count } of fields) {
      const one = this.#size(type, depth);
      if (one === null) return null;
      sum += one * (count === 0 ? 1 : count);
      if (sum > longest) return null;
    }
    return sum;
  }

  #size(type: string, depth: number): number | null {
    if (Object.hasOwn(sizes, type)) return sizes[type]!;
    const known = this.#sizes.get(type);
    if (known !== undefined) return known;
    const fields = this.#fields.get(type);
    const size = fields === undefined || depth > deepest ? null : this.#total(fields, depth + 1);
    this.#sizes.set(type, size);
    return size;
  }
}

/** How a number of a type is read; text (char) as its code. */
export function readerOfType(type: string): (view: DataView, at: number) => number {
  switch (type) {
    case "int8_t":
      return (view, at) => view.getInt8(at);
    case "int16_t":
      return (view, at) => view.getInt16(at, true);
    case "uint16_t":
      return (view, at) => view.getUint16(at, true);
    case "int32_t":
      return (view, at) => view.getInt32(at, true);
    case "uint32_t":
      return (view, at) => view.getUint32(at, true);
    case "int64_t":
      return (view, at) => view.getInt32(at + 4, true) * 4_294_967_296 + view.getUint32(at, true);
    case "uint64_t":
      return (view, at) => view.getUint32(at + 4, true) * 4_294_967_296 + view.getUint32(at, true);
    case "float":
      return (view, at) => view.getFloat32(at, true);
    case "double":
      return (view, at) => view.getFloat64(at, true);
    default:
      return (view, at) => view.getUint8(at);
  }
}
