/** One parameter: its numbers, or its texts. */
export interface Parameter {
  readonly numbers: readonly number[];
  readonly texts: readonly string[];
}

/** More groups and parameters than any file has. */
const mostEntries = 10_000;

/**
 * Parameters of a point file by "GROUP:NAME", in capitals.
 *
 * @param bytes  the parameter section from its first byte on; may be longer than it
 * @source c3d.org, The C3D File Format, section on the parameter section
 */
export function readParameters(bytes: Uint8Array, order: ByteOrder): Map<string, Parameter> {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  const groups = new Map<number, string>();
  const found: { group: number; name: string; parameter: Parameter }[] = [];
  let at = 4;
  for (let entry = 0; entry < mostEntries && at + 4 <= bytes.length; entry++) {
    // a negative length: locked against changes
    const length = Math.abs(view.getInt8(at));
    const group = view.getInt8(at + 1);
    const next = at + 2 + length;
    if (length === 0 || group === 0 || next + 2 > bytes.length) break;
    const name = textOf(bytes.subarray(at + 2, next)).toUpperCase();
    const offset = view.getUint16(next, order.little);
    if (group < 0) groups.set(-group, name);
    else {
      const parameter = valueAt(bytes, view, next + 2, order);
      if (parameter !== null) found.push({ group, name, parameter });
    }
    if (offset === 0) break;
    at = next + offset;
  }
  return new Map(found.map(({ group, name, parameter }) => [`${groups.get(group) ?? group}:${name}`, parameter]));
}

function valueAt(bytes: Uint8Array, view: DataView, at: number, order: ByteOrder): Parameter | null {
  if (at + 2 > bytes.length) return null;
  const type = view.getInt8(at);
  const dimensions = view.getUint8(at + 1);
  const sizes = bytes.subarray(at + 2, at + 2 + dimensions);
  const size = Math.abs(type);
  const data = at + 2 + dimensions;
  const count = sizes.reduce((product, length) => product * length, 1);
  if (sizes.length < dimensions || ![1, 2, 4].includes(size) || data + count * size > bytes.length) return null;
  if (type === -1) {
    const width = sizes[0] ?? 1;
    const texts = Array.from({ length: width === 0 ? 0 : count / width }, (_, k) =>
      textOf(bytes.subarray(data + k * width, data + (k + 1) * width)),
    );
    return { numbers: [], texts };
  }
  const number = (place: number): number =>
    type === 4 ? order.float(view, place) : type === 2 ? view.getInt16(place, order.little) : view.getInt8(place);
  return { numbers: Array.from({ length: count }, (_, k) => number(data + k * size)), texts: [] };
}

function textOf(bytes: Uint8Array): string {
  return Buffer.from(bytes).toString("latin1").replace(/\0.*$/s, "").trim();
}

/** How the numbers of a point file are written. */
export interface ByteOrder {
  readonly name: "Intel" | "DEC" | "MIPS";
  readonly little: boolean;
  float(view: DataView, at: number): number;
}

const scratch = new DataView(new ArrayBuffer(4));

/**
 * The byte order of a processor type: 84 Intel, 85 DEC, 86 MIPS.
 *
 * DEC's single precision keeps its two 16-bit words the other way round, and an exponent that is two larger; a value with
 * exponent 0 is 0.
 *
 * @returns null for any other
 * @source c3d.org, The C3D File Format, sections on processor types and floating point formats
 */
export function byteOrder(processor: number): ByteOrder | null {
  if (processor === 84) return { name: "Intel", little: true, float: (view, at) => view.getFloat32(at, true) };
  if (processor === 86) return { name: "MIPS", little: false, float: (view, at) => view.getFloat32(at, false) };
  if (processor !== 85) return null;
  return {
    name: "DEC",
    little: true,
    float: (view, at) => {
      scratch.setUint16(0, view.getUint16(at, true));
      scratch.setUint16(2, view.getUint16(at + 2, true));
      // an exponent of 0 stands for 0 whatever the other bits say
      return (scratch.getUint16(0) & 0x7f80) === 0 ? 0 : scratch.getFloat32(0) / 4;
    },
  };
}
