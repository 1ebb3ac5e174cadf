import { RecordDamage } from "../../messages/LogPart.ts";
import type { PageFile } from "./PageFile.ts";
import { readVarint, type Varint } from "./varint.ts";
import type { Cell } from "./walkTable.ts";

/** One value of a record where it lies. */
export interface Value {
  /** as the format codes type and length */
  serial: number;
  at: number;
  bytes: number;
}

const sizes = [0, 1, 2, 3, 4, 6, 8, 8, 0, 0] as const;
const number: Varint = { value: 0, next: 0 };

/**
 * Where the values of a record lie, up to the last one wanted.
 *
 * @param values  filled from its first on; as many as are wanted
 * @param end     end of the record; a value may end beyond what of it is at hand
 * @returns how many the record has of them: a record is shorter than its table where columns were added later
 * @throws RecordDamage  the header does not fit the record
 * @source SQLite, Database File Format, section 2.1
 */
export function placeValues(
  view: DataView,
  at: number,
  headEnd: number,
  end: number,
  values: readonly Value[],
): number {
  readVarint(view, at, headEnd, number);
  const bodyAt = at + number.value;
  if (bodyAt > headEnd || bodyAt > end) throw new RecordDamage("a record's header is longer than the record");
  let place = bodyAt;
  let next = number.next;
  let count = 0;
  while (next < bodyAt && count < values.length) {
    readVarint(view, next, bodyAt, number);
    next = number.next;
    const serial = number.value;
    const bytes = serial < 12 ? sizes[serial] : serial % 2 === 0 ? (serial - 12) / 2 : (serial - 13) / 2;
    if (bytes === undefined || place + bytes > end) throw new RecordDamage("a value is longer than its record");
    const value = values[count++]!;
    value.serial = serial;
    value.at = place;
    value.bytes = bytes;
    place += bytes;
  }
  return count;
}

/** A whole number of 1 to 8 bytes, signed, exact up to 2^53; NaN where the value is none. */
export function wholeNumber(view: DataView, { serial, at }: Value): number {
  switch (serial) {
    case 1:
      return view.getInt8(at);
    case 2:
      return view.getInt16(at);
    case 3:
      return view.getInt8(at) * 65_536 + view.getUint16(at + 1);
    case 4:
      return view.getInt32(at);
    case 5:
      return view.getInt16(at) * 4_294_967_296 + view.getUint32(at + 2);
    case 6:
      return view.getInt32(at) * 4_294_967_296 + view.getUint32(at + 4);
    case 8:
      return 0;
    case 9:
      return 1;
    default:
      return Number.NaN;
  }
}

export function isBlob({ serial }: Value): boolean {
  return serial >= 12 && serial % 2 === 0;
}

export function isText({ serial }: Value): boolean {
  return serial >= 13 && serial % 2 === 1;
}

/**
 * The whole record of a row that spills over its page, put together; `into` has at least `cell.length` bytes.
 *
 * @throws RecordDamage  the chain of pages ends early or leads in a circle
 */
export function gatherRecord(file: PageFile, cell: Readonly<Cell>, into: Uint8Array): void {
  const { usable, pages } = file;
  let { view, at } = file.page(cell.page);
  const from = at + cell.offset;
  into.set(new Uint8Array(view.buffer, view.byteOffset + from, cell.local));
  let done = cell.local;
  let next = cell.length > cell.local ? view.getUint32(from + cell.local) : 0;
  for (let steps = 0; done < cell.length; steps++) {
    if (next === 0 || steps > pages)
      throw new RecordDamage(`row ${cell.rowid} ends after ${done} of ${cell.length} bytes`);
    ({ view, at } = file.page(next));
    const part = Math.min(usable - 4, cell.length - done);
    into.set(new Uint8Array(view.buffer, view.byteOffset + at + 4, part), done);
    done += part;
    next = view.getUint32(at);
  }
}
