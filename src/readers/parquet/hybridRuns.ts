/** A run of equal values, or of values packed by bits in groups of eight. */
interface Run {
  readonly packed: boolean;
  readonly count: number;
  /** where its values begin */
  readonly from: number;
}

/**
 * Makes sure that runs hold no more values than are wanted. A packed one may: its last group is filled up, and its own
 * bytes bound it, unless its values have none.
 *
 * @param from    where the first run begins
 * @param values  how many are wanted
 * @param width   bits of a value
 * @throws Error  a run claims more
 */
export function checkRuns(bytes: Uint8Array, from: number, values: number, width: number): void {
  eachRun(bytes, from, values, width, ({ count, packed }, seen) => {
    const left = values - seen;
    if (count > left && (!packed || (width === 0 && count >= left + 8)))
      throw new Error(`a run claims ${count} values where ${left} are left`);
  });
}

/** How many of `values` levels of one bit are 1. */
export function countOnes(bytes: Uint8Array, from: number, values: number): number {
  let ones = 0;
  eachRun(bytes, from, values, 1, ({ count, packed, from: start }, seen) => {
    const wanted = Math.min(count, values - seen);
    if (!packed) ones += (bytes[start]! & 1) * wanted;
    else for (let k = 0; k < wanted; k++) ones += (bytes[start + (k >> 3)]! >> (k & 7)) & 1;
  });
  return ones;
}

/** @source Apache Parquet format, "Run Length Encoding / Bit-Packing Hybrid (RLE = 3)" */
function eachRun(
  bytes: Uint8Array,
  from: number,
  values: number,
  width: number,
  take: (run: Run, seen: number) => void,
): void {
  let at = from;
  let seen = 0;
  while (seen < values) {
    let header = 0;
    for (let shift = 0; ; shift += 7) {
      const byte = bytes[at++];
      if (byte === undefined || shift > 28) throw new Error("the runs of a page end before its values");
      header += (byte & 0x7f) * 2 ** shift;
      if ((byte & 0x80) === 0) break;
    }
    const packed = header % 2 === 1;
    const half = Math.floor(header / 2);
    const count = packed ? 8 * half : half;
    take({ packed, count, from: at }, seen);
    seen += count;
    at += packed ? width * half : Math.ceil(width / 8);
  }
}
