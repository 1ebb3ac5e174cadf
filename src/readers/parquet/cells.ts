import { brotliDecompressSync, gunzipSync } from "node:zlib";
import { type Compressors, snappyUncompress } from "hyparquet";
import { codecPackage } from "../messages/zstd.ts";
import type { ColumnKind, ReadColumn } from "../table/ColumnSink.ts";
import { readDate } from "../table/instantCell.ts";

/** What a cell of a Parquet file comes as. */
export type CellValue = number | bigint | boolean | string | Date | { readonly nanoseconds: bigint } | null | undefined;

const billion = 1_000_000_000n;

/**
 * The cells of a column as numbers, or as instants exact to the nanosecond: whole numbers are never rounded on the way.
 */
export function readCells(cells: readonly CellValue[], kind: ColumnKind): ReadColumn {
  const n = cells.length;
  const values = new Float64Array(n);
  const nsec = kind.kind === "number" ? null : new Float64Array(n);
  let blank: Uint8Array | null = null;
  let texts = 0;
  for (let row = 0; row < n; row++) {
    const cell = cells[row];
    if (cell === null || cell === undefined) {
      blank ??= new Uint8Array(n);
      blank[row] = 1;
      values[row] = Number.NaN;
      if (nsec !== null) nsec[row] = Number.NaN;
      continue;
    }
    const instant = nanosecondsOf(cell, kind);
    if (nsec === null) values[row] = secondsOf(cell);
    else if (instant !== null) {
      const whole = instant / billion - (instant % billion < 0n ? 1n : 0n);
      values[row] = Number(whole);
      nsec[row] = Number(instant - whole * billion);
    } else {
      values[row] = Number.NaN;
      nsec[row] = Number.NaN;
    }
    if (typeof cell === "string" && Number.isNaN(values[row]!)) texts++;
  }
  return { values, nsec, blank, texts };
}

/** As `secondsOf`, and in seconds since 1970 also what a date written as text says: for figures of a column that may be a time. */
export function figureOf(cell: CellValue): number {
  const value = secondsOf(cell);
  if (typeof cell !== "string" || !Number.isNaN(value)) return value;
  return Number(nanosecondsOfDate(cell) ?? Number.NaN) / 1e9;
}

/** A cell as a number; dates in seconds since 1970; NaN for text that is none. */
function secondsOf(cell: CellValue): number {
  if (typeof cell === "number") return cell;
  if (typeof cell === "bigint" || typeof cell === "boolean") return Number(cell);
  if (typeof cell === "string") return cell.trim() === "" ? Number.NaN : Number(cell);
  if (cell instanceof Date) return cell.getTime() / 1000;
  return cell === null || cell === undefined ? Number.NaN : Number(cell.nanoseconds) / 1e9;
}

/** A cell as text, for the kind of its column: instants as dates. */
export function textOf(cell: CellValue): string {
  if (cell === null || cell === undefined) return "";
  if (typeof cell !== "object") return String(cell);
  const date = cell instanceof Date ? cell : new Date(Number(cell.nanoseconds / 1_000_000n));
  // the lowest number stands for "no time" in some writers
  return Number.isNaN(date.getTime()) ? "" : date.toISOString();
}

function nanosecondsOf(cell: CellValue, kind: ColumnKind): bigint | null {
  if (cell instanceof Date) {
    const milliseconds = cell.getTime();
    return Number.isFinite(milliseconds) ? BigInt(milliseconds) * 1_000_000n : null;
  }
  if (typeof cell === "object" && cell !== null) return cell.nanoseconds;
  if (kind.kind === "date" && typeof cell === "string") return nanosecondsOfDate(cell);
  const power = kind.kind === "instant" ? kind.power : 0;
  if (typeof cell === "bigint") return cell * 10n ** BigInt(9 - power);
  const value = secondsOf(cell);
  if (!Number.isFinite(value)) return null;
  // whole part and rest apart: their product with 1e9 would be rounded as one
  const scale = 10 ** power;
  const sec = Math.floor(value / scale);
  return BigInt(sec) * billion + BigInt(Math.round(((value - sec * scale) / scale) * 1e9));
}

const written = { sec: Number.NaN, nsec: Number.NaN };

function nanosecondsOfDate(text: string): bigint | null {
  readDate(text, written);
  return Number.isNaN(written.sec) ? null : BigInt(written.sec) * billion + BigInt(written.nsec);
}

type Decompressor = (input: Uint8Array, outputLength: number) => Uint8Array;

/** A page is at most some megabytes; a damaged header may claim gigabytes. */
const largestPage = 2 ** 28;

/** Decompressors of the codecs that a file names, each refusing to allocate what no page can need. */
export async function decompressors(codecs: readonly string[]): Promise<Compressors> {
  const found: Compressors = {
    SNAPPY: checked((input, length) => {
      const output = new Uint8Array(length);
      snappyUncompress(input, output);
      return output;
    }),
    GZIP: checked((input, length) => gunzipSync(input, { maxOutputLength: Math.max(1, length) })),
    BROTLI: checked((input, length) => brotliDecompressSync(input, { maxOutputLength: Math.max(1, length) })),
  };
  if (codecs.includes("ZSTD")) found.ZSTD = checked(await loadZstd());
  return found;
}

function checked(decompress: Decompressor): Decompressor {
  return (input, length) => {
    if (!(length >= 0 && length <= largestPage)) throw new Error(`a page claims ${length} bytes`);
    return decompress(input, length);
  };
}

async function loadZstd(): Promise<Decompressor> {
  const zstd = codecPackage("zstd") as {
    decompress(bytes: Uint8Array, size: number): Uint8Array;
    readonly isLoaded: Promise<unknown>;
  };
  await zstd.isLoaded;
  return (input, length) => zstd.decompress(input, length);
}
