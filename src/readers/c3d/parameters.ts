import type { ByteOrder } from "./byteOrder.ts";

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
