import type { LogReader } from "../LogReader.ts";
import { tabularReader } from "../table/tableReader.ts";
import { parquetTable } from "./parquetTable.ts";

/** Reads Parquet files as tables: every column that is no list and no structure. */
export const parquetReader: LogReader = tabularReader(parquetTable);
