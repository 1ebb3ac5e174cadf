import type { ColumnMetaData, Compressors, FileMetaData, PageHeader, SchemaElement } from "hyparquet";
import { parquetHeader } from "hyparquet/src/column.js";
import { decompressPage } from "hyparquet/src/datapage.js";

/** A column of one group of rows: its pages as they stand in the file, and what is needed to walk them. */
interface ColumnChunk {
  readonly bytes: Uint8Array;
  readonly meta: Pick<ColumnMetaData, "type" | "codec">;
  /** rows of its group: no page of a flat column holds more values */
  readonly rows: number;
  /** whether a value may be missing: then a level stands for every row */
  readonly optional: boolean;
}

/**
 * Walks the pages of a flat column before they are decoded, for the decoder believes every count it reads: a run of a
 * damaged page may claim a thousand million values, and would be written out one by one.
 *
 * @param slice  bytes of the file, from an offset on
 * @param end    where the index begins, behind all columns
 * @throws Error  a column reaches into the index; a page reaches past its column, has more values than its group has rows, or holds a run longer than it
 * @source Apache Parquet format, "Data Pages" and "Encodings" (RLE / bit-packing hybrid)
 */
export function checkColumn(
  { name, repetition_type }: SchemaElement,
  { row_groups: groups }: FileMetaData,
  {
    slice,
    compressors,
    end,
  }: { slice: (from: number, length: number) => Uint8Array; compressors: Compressors; end: number },
): void {
  for (const { columns, num_rows } of groups) {
    const meta = columns.find(({ meta_data: each }) => each?.path_in_schema.join("/") === name)?.meta_data;
    if (meta === undefined) continue;
    const from = Number(meta.dictionary_page_offset || meta.data_page_offset);
    const length = Number(meta.total_compressed_size);
    if (!(from >= 4 && length >= 0 && from + length <= end))
      throw new Error(`the column ${name} is said to lie at bytes ${from} to ${from + length}, the data end at ${end}`);
    const bytes = slice(from, length);
    checkPages({ bytes, meta, rows: Number(num_rows), optional: repetition_type === "OPTIONAL" }, compressors);
  }
}

function checkPages({ bytes, meta, rows, optional }: ColumnChunk, compressors: Compressors): void {
  const reader = { view: new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength), offset: 0 };
  let seen = 0;
  while (seen < rows && reader.offset < bytes.byteLength - 1) {
    const header = parquetHeader(reader);
    const length = header.compressed_page_size;
    const from = reader.offset;
    if (!(length >= 0 && from + length <= bytes.byteLength)) throw new Error(`a page claims ${length} bytes`);
    reader.offset += length;
    const values = header.data_page_header?.num_values ?? header.data_page_header_v2?.num_values;
    if (values === undefined) continue;
    if (!(values >= 0 && values <= rows)) throw new Error(`a page claims ${values} of ${rows} rows`);
    const body = bytes.subarray(from, from + length);
    if (header.data_page_header !== undefined) checkFirstForm(body, header, { meta, values, optional, compressors });
    else checkSecondForm(body, header, { meta, values, optional, compressors });
    seen += values;
  }
}

interface PageFacts extends Pick<ColumnChunk, "meta" | "optional"> {
  readonly values: number;
  readonly compressors: Compressors;
}

const hasRuns = (encoding: string): boolean => /^(PLAIN_DICTIONARY|RLE_DICTIONARY|RLE)$/.test(encoding);

/** Levels and values are compressed together; the levels' length stands before them. */
function checkFirstForm(
  body: Uint8Array,
  header: PageHeader,
  { meta, values, optional, compressors }: PageFacts,
): void {
  const { encoding } = header.data_page_header!;
  if (!optional && !hasRuns(encoding)) return;
  const page = decompressPage(body, header.uncompressed_page_size, meta.codec, compressors);
  let present = values;
  let at = 0;
  if (optional) {
    const length = new DataView(page.buffer, page.byteOffset, page.byteLength).getUint32(0, true);
    checkHybridRuns(page, 4, values, 1);
    present = countOnes(page, 4, values);
    at = 4 + length;
  }
  if (!hasRuns(encoding)) return;
  if (meta.type === "BOOLEAN") checkHybridRuns(page, at + 4, present, 1);
  else if ((page[at] ?? 0) > 0) checkHybridRuns(page, at + 1, present, page[at]!);
}

/** Levels stand uncompressed before the values; their lengths and the number of blanks are in the header. */
function checkSecondForm(
  body: Uint8Array,
  header: PageHeader,
  { meta, values, optional, compressors }: PageFacts,
): void {
  const second = header.data_page_header_v2!;
  const { encoding, num_nulls: blanks, is_compressed: packed } = second;
  const levels = second.repetition_levels_byte_length + second.definition_levels_byte_length;
  if (!(blanks >= 0 && blanks <= values)) throw new Error(`a page claims ${blanks} blanks of ${values} values`);
  if (!(levels >= 0 && levels <= body.byteLength)) throw new Error(`a page claims ${levels} bytes of levels`);
  if (optional) checkHybridRuns(body, second.repetition_levels_byte_length, values, 1);
  const length = header.uncompressed_page_size - levels;
  if (!hasRuns(encoding) || length === 0) return;
  const rest = body.subarray(levels);
  const page = packed === false ? rest : decompressPage(rest, length, meta.codec, compressors);
  if (meta.type === "BOOLEAN") checkHybridRuns(page, 4, values - blanks, 1);
  else checkHybridRuns(page, 1, values - blanks, page[0] ?? 0);
}

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
function checkHybridRuns(bytes: Uint8Array, from: number, values: number, width: number): void {
  eachRun(bytes, from, values, width, ({ count, packed }, seen) => {
    const left = values - seen;
    if (count > left && (!packed || (width === 0 && count >= left + 8)))
      throw new Error(`a run claims ${count} values where ${left} are left`);
  });
}

/** How many of `values` levels of one bit are 1. */
function countOnes(bytes: Uint8Array, from: number, values: number): number {
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
