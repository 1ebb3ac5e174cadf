import { seededRandom } from "../../src/numeric/seededRandom.ts";
import type { Place, Seed } from "./seeds.ts";

/** A changed copy of a seed, and what was done to it. */
export interface Mutant {
  readonly bytes: Buffer;
  /** in words, so that a finding can be looked at */
  readonly deed: string;
  /** bytes of the seed that were overwritten where they stand; null: some were taken out, put in or moved */
  readonly touched: readonly number[] | null;
}

/** Numbers that break what was never asked about them, as every width holds them. */
const exported: readonly { readonly name: string; readonly bytes: Buffer }[] = [
  ...[0, -1, Number.NaN, Number.POSITIVE_INFINITY, 1e200, 2 ** 31, 2 ** 63].map((value) => ({
    name: `double ${value}`,
    bytes: written(8, (bytes) => bytes.writeDoubleLE(value)),
  })),
  ...[-1, Number.NaN, Number.POSITIVE_INFINITY, 1e38, 2 ** 31, 2 ** 63].map((value) => ({
    name: `float ${value}`,
    bytes: written(4, (bytes) => bytes.writeFloatLE(value)),
  })),
  ...[0, -1, -(2 ** 31)].map((value) => ({
    name: `int32 ${value}`,
    bytes: written(4, (bytes) => bytes.writeInt32LE(value)),
  })),
  ...[-1n, 2n ** 31n, -(2n ** 63n)].map((value) => ({
    name: `int64 ${value}`,
    bytes: written(8, (bytes) => bytes.writeBigInt64LE(value)),
  })),
  { name: "the word 7fff ffff, big end first", bytes: Buffer.from("7fffffff", "hex") },
];

function written(length: number, write: (bytes: Buffer) => void): Buffer {
  const bytes = Buffer.alloc(length);
  write(bytes);
  return bytes;
}

/** Each of those numbers at each place of the file, where it changes a byte; the blanks that fill a header stand for each other. */
export function* everyPlace({ bytes, format }: Seed): Generator<Mutant> {
  if (format === "table") {
    yield* everyCell(bytes.toString());
    return;
  }
  for (let at = 0; at < bytes.length; at++) {
    const isFilling = at >= 16 && bytes.subarray(at - 16, at + 16).every((byte) => byte === bytes[at]);
    if (isFilling) continue;
    for (const { name, bytes: number } of exported) {
      const share = number.subarray(0, bytes.length - at);
      if (!share.equals(bytes.subarray(at, at + share.length))) yield overwritten(bytes, at, share, `${name} at ${at}`);
    }
  }
}

/** In text a number is as long as it is written. */
function* everyCell(text: string): Generator<Mutant> {
  for (const { 0: cell, index } of text.matchAll(/[^,\n]+/g))
    for (const value of ["0", "-1", "NaN", "Inf", "1e200", "2147483648", "9223372036854775808", ""]) {
      const changed = `${text.slice(0, index)}${value}${text.slice(index + cell.length)}`;
      yield { bytes: Buffer.from(changed), deed: `${value} for the cell at ${index}`, touched: null };
    }
}

function overwritten(bytes: Buffer, at: number, by: Uint8Array, deed: string): Mutant {
  const copy = Buffer.from(bytes);
  copy.set(by, at);
  const touched: number[] = [];
  for (let k = 0; k < by.length; k++) if (copy[at + k] !== bytes[at + k]) touched.push(at + k);
  return { bytes: copy, deed, touched };
}

/** The mutant of this number: always the same. Half of them change the file's structure, and not its numbers, where that can be distinguished. */
export function mutantOf(seed: Seed, number: number): Mutant {
  const random = seededRandom(number);
  const below = (limit: number): number => Math.floor(random.uniform() * limit);
  const { bytes } = seed;
  const at = placeIn(seed, below);
  const kind = below(9);
  if (kind <= 1) {
    const bit = below(8);
    return overwritten(bytes, at, Uint8Array.of(bytes[at]! ^ (1 << bit)), `bit ${bit} of byte ${at} turned over`);
  }
  if (kind === 2) {
    const value = below(256);
    return overwritten(bytes, at, Uint8Array.of(value), `byte ${at} made ${value}`);
  }
  if (kind <= 4) {
    const { name, bytes: number } = exported[below(exported.length)]!;
    return overwritten(bytes, at, number.subarray(0, bytes.length - at), `${name} at ${at}`);
  }
  const length = 1 + below(random.uniform() < 0.5 ? 16 : 512);
  const end = Math.min(bytes.length, at + length);
  const moved = (deed: string, ...parts: readonly Uint8Array[]): Mutant => ({
    bytes: Buffer.concat(parts),
    deed,
    touched: null,
  });
  const [before, share, after] = [bytes.subarray(0, at), bytes.subarray(at, end), bytes.subarray(end)];
  if (kind === 5) return moved(`cut off at ${at}`, before);
  if (kind === 6) return moved(`${end - at} bytes from ${at} on taken out`, before, after);
  if (kind === 7) return moved(`${end - at} bytes from ${at} on twice`, before, share, share, after);
  const from = below(bytes.length);
  const other = bytes.subarray(from, Math.min(bytes.length, from + share.length));
  return overwritten(bytes, at, other.subarray(0, share.length), `${other.length} bytes of ${from} at ${at}`);
}

function placeIn({ bytes, values, stamps }: Seed, below: (limit: number) => number): number {
  const at = below(bytes.length);
  if (below(2) === 0 || values.length === 0) return at;
  // to the next byte that belongs to the structure
  const numbers = bytesOf(values, stamps);
  for (let k = 0; k < bytes.length; k++) if (!numbers.has((at + k) % bytes.length)) return (at + k) % bytes.length;
  return at;
}

const known = new WeakMap<readonly Place[], ReadonlyMap<number, Place>>();

/** All bytes of the numbers and the instants of a seed, each with the place that it belongs to. */
export function bytesOf(values: readonly Place[], stamps: readonly Place[]): ReadonlyMap<number, Place> {
  const before = known.get(values);
  if (before !== undefined) return before;
  const bytes = new Map<number, Place>();
  for (const place of [...values, ...stamps]) for (let k = 0; k < place[1]; k++) bytes.set(place[0] + k, place);
  known.set(values, bytes);
  return bytes;
}
