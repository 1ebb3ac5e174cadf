import { RecordDamage } from "../../messages/LogPart.ts";

/** A whole number of one to nine bytes, read by `readVarint`. */
export interface Varint {
  /** rounded to a double beyond 2^53: no length or row of ours is that large */
  value: number;
  /** the byte after it */
  next: number;
}

/**
 * Reads a variable-length integer, high bits first, seven to a byte and eight in the ninth.
 *
 * @throws RecordDamage  it does not end before `end`
 * @source SQLite, Database File Format, section 1.6
 */
export function readVarint(view: DataView, at: number, end: number, into: Varint): void {
  let value = 0;
  for (let k = 0; k < 9; k++) {
    if (at + k >= end) throw new RecordDamage("a number does not end");
    const byte = view.getUint8(at + k);
    if (k === 8) {
      into.value = value * 256 + byte;
      into.next = at + 9;
      return;
    }
    value = value * 128 + (byte & 0x7f);
    if (byte < 0x80) {
      into.value = value;
      into.next = at + k + 1;
      return;
    }
  }
}

/**
 * The same with a sign, which only nine bytes have room for; exact up to 2^53 in both directions.
 *
 * @throws RecordDamage  it does not end before `end`
 */
export function readSignedVarint(view: DataView, at: number, end: number, into: Varint): void {
  readVarint(view, at, end, into);
  if (into.next < at + 9) return;
  // 28 bits, the first of them the sign, and 36 bits
  let high = 0;
  for (let k = 0; k < 4; k++) high = high * 128 + (view.getUint8(at + k) & 0x7f);
  let low = 0;
  for (let k = 4; k < 8; k++) low = low * 128 + (view.getUint8(at + k) & 0x7f);
  low = low * 256 + view.getUint8(at + 8);
  into.value = (high >= 2 ** 27 ? high - 2 ** 28 : high) * 2 ** 36 + low;
}
