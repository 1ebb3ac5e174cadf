import {
  type CompressionCodec,
  type FileMetaData,
  parquetMetadataAsync,
  parquetRead,
  type SchemaElement,
} from "hyparquet";
import { logFormats } from "../../catalogue/logFormats.ts";
import { LogError } from "../../foundation/errors.ts";
import type { LogReader } from "../LogReader.ts";
import { LogFile } from "../messages/LogPart.ts";
import type { ReadColumn } from "../table/ColumnSink.ts";
import { columnNames } from "../table/columnNames.ts";
import { ColumnFigures, type Tabular } from "../table/Tabular.ts";
import { tabularReader } from "../table/tableReader.ts";
import { type CellValue, decompressors, figureOf, readCells, textOf } from "./cells.ts";
import { checkColumn } from "./checkPages.ts";

/** More rows than any flight day has; a damaged file may claim any number. */
const mostRows = 100_000_000;
const sampleRows = 200;

/** How some writers say that there is no instant: the lowest number. */
const noInstant = -(2n ** 63n);

/** Dates and instants come as nanoseconds since 1970, exactly. */
const parsers = {
  timestampFromMilliseconds: (value: bigint): CellValue => new Date(Number(value)),
  timestampFromMicroseconds: (value: bigint): CellValue =>
    value === noInstant ? null : { nanoseconds: value * 1000n },
  timestampFromNanoseconds: (value: bigint): CellValue => (value === noInstant ? null : { nanoseconds: value }),
  dateFromDays: (days: number): CellValue => new Date(days * 86_400_000),
};

/**
 * A Parquet file, opened by its footer; a column is read when it is asked for.
 *
 * @throws LogError  code `log-unreadable`: no file, cut short, damaged, encrypted, more rows than a log can have
 */
export async function parquetTable(path: string): Promise<Tabular> {
  const file = new LogFile(path);
  try {
    const buffer = {
      byteLength: file.bytes,
      slice: (start: number, end = file.bytes): ArrayBuffer => {
        const bytes = file.slice(start, end - start);
        return bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength) as ArrayBuffer;
      },
    };
    const metadata = await inWords(path, () => parquetMetadataAsync(buffer));
    const compressors = await decompressors(codecsOf(metadata));
    const flat = flatColumns(metadata.schema);
    const leaves = flat.map(({ name }) => name);
    requireReadable(path, metadata, compressors, leaves);
    const rows = Number(metadata.num_rows);
    const checked = new Set<string>();
    const readOne = (name: string, until: number): Promise<readonly CellValue[]> =>
      inWords(path, async () => {
        if (!checked.has(name))
          checkColumn(flat[leaves.indexOf(name)]!, metadata, {
            slice: (from, length) => file.slice(from, length),
            compressors,
            // length of the index and four letters close the file
            end: file.bytes - 8 - metadata.metadata_length,
          });
        checked.add(name);
        const values: CellValue[] = [];
        await parquetRead({
          file: buffer,
          metadata,
          columns: [name],
          rowStart: 0,
          rowEnd: until,
          compressors,
          parsers,
          utf8: true,
          rowFormat: "array",
          onComplete: (found) => {
            for (const row of found) values.push(row[0] as CellValue);
          },
        });
        return values;
      });
    const samples = new Map<number, readonly string[]>();
    for (const [k, name] of leaves.entries())
      samples.set(k, (await readOne(name, Math.min(rows, sampleRows))).map(textOf));
    const written = columnNames([leaves], leaves.length, 0).units;
    const units = flat.map((column, k) => clockUnit(column) ?? written[k] ?? null);
    return {
      path,
      bytes: file.bytes,
      format: logFormats.parquet.name,
      compression: codecsOf(metadata).map((codec) => (codec === "UNCOMPRESSED" ? "none" : codec.toLowerCase())),
      names: leaves,
      units,
      lengthUnit: null,
      sample: (column) => samples.get(column) ?? [],
      read: async (wanted) => {
        const columns = new Map<number, ReadColumn>();
        for (const [column, kind] of wanted) columns.set(column, readCells(await readOne(leaves[column]!, rows), kind));
        const notes = [...columns].flatMap(([column, { texts }]) =>
          texts === 0 ? [] : [`the column ${leaves[column]} holds text in ${texts} row(s) where a number was expected`],
        );
        return { rows, discarded: 0, columns, notes };
      },
      stats: async () => {
        const columns = [];
        for (const name of leaves) columns.push(figuresOf(await readOne(name, rows)).finish());
        return { rows, columns, notes: [] };
      },
      shape: { separator: "none", decimal: "point", preamble: 0, headingLines: 0 },
      close: () => file.close(),
    };
  } catch (error) {
    file.close();
    throw error;
  }
}

/** @throws LogError  code `log-unreadable`: more rows than a log can have, a compression that is not known, a name twice */
function requireReadable(
  path: string,
  metadata: FileMetaData,
  compressors: Readonly<Record<string, unknown>>,
  names: readonly string[],
): void {
  const rows = Number(metadata.num_rows);
  if (!(rows >= 0 && rows <= mostRows)) throw damaged(path, `it claims ${rows} rows`);
  const unknown = codecsOf(metadata).find((codec) => codec !== "UNCOMPRESSED" && compressors[codec] === undefined);
  if (unknown !== undefined)
    throw new LogError(
      "log-unreadable",
      `found the compression ${unknown}, expected none, ${Object.keys(compressors).join(", ")} or ZSTD`,
      { place: path, hint: "write the table again with one of these" },
    );
  const twice = names.find((name, k) => names.indexOf(name) !== k);
  if (twice !== undefined)
    throw new LogError("log-unreadable", `found two columns named ${twice}, expected every name once`, {
      place: path,
      hint: "rename one of them before the table is written",
    });
}

/** Columns directly under the root that hold one value a row. */
function flatColumns(schema: readonly SchemaElement[]): SchemaElement[] {
  const flat: SchemaElement[] = [];
  // the root stands first; a column with children is followed by them
  let at = 1;
  const skip = (count: number): void => {
    for (let k = 0; k < count && at < schema.length; k++) {
      const children = schema[at++]!.num_children ?? 0;
      skip(children);
    }
  };
  while (at < schema.length) {
    const column = schema[at++]!;
    const { num_children = 0, repetition_type } = column;
    if (num_children > 0) skip(num_children);
    else if (repetition_type !== "REPEATED") flat.push(column);
  }
  return flat;
}

/** The unit of a time of day, which the file's schema states; null for every other kind of column. */
function clockUnit({ converted_type, logical_type }: SchemaElement): string | null {
  if (converted_type === "TIME_MILLIS") return "ms";
  if (converted_type === "TIME_MICROS") return "us";
  if (logical_type?.type !== "TIME") return null;
  return { MILLIS: "ms", MICROS: "us", NANOS: "ns" }[logical_type.unit];
}

function codecsOf({ row_groups }: FileMetaData): CompressionCodec[] {
  const codecs = row_groups.flatMap(({ columns }) => columns.flatMap(({ meta_data }) => meta_data?.codec ?? []));
  return [...new Set(codecs)].sort();
}

function figuresOf(values: readonly CellValue[]): ColumnFigures {
  const figures = new ColumnFigures();
  for (const value of values) {
    const number = figureOf(value);
    if (value === null || value === undefined || Number.isNaN(number)) {
      if (typeof value === "string") figures.texts++;
      else figures.blank++;
    } else figures.add(number);
  }
  return figures;
}

/** What the library throws on a damaged file says little to a person. */
async function inWords<T>(path: string, read: () => T | Promise<T>): Promise<T> {
  try {
    return await read();
  } catch (cause) {
    if (cause instanceof LogError) throw cause;
    throw damaged(path, cause instanceof Error ? cause.message : String(cause), cause);
  }
}

function damaged(path: string, why: string, cause?: unknown): LogError {
  return new LogError("log-unreadable", `found a Parquet file that cannot be read (${why}), expected a whole one`, {
    place: path,
    hint: "a Parquet file that was not closed has no index at its end: write or copy it again",
    cause,
  });
}

/** Reads Parquet files as tables: every column that is no list and no structure. */
export const parquetReader: LogReader = tabularReader(parquetTable);
