import type { RecordedSignal, SignalRequest, StampColumn } from "../../foundation/recording.ts";
import type { Nanoseconds } from "../../foundation/units.ts";
import { gather } from "../../numeric/sortedColumns.ts";
import { secondsAfter } from "../messages/SignalTable.ts";
import type { ReadColumn } from "./ColumnSink.ts";

/** One file of a table as one signal sees it. */
export interface SignalPart {
  readonly rows: number;
  readonly time: ReadColumn;
  /** seconds per unit of `time`, where it was read as numbers */
  readonly timeScale: number;
  /** role -> column */
  readonly columns: Readonly<Record<string, ReadColumn>>;
}

const billion = 1_000_000_000n;

/** The earliest and the latest instant of any row; null where no row has a time. */
export function timesOf(parts: readonly SignalPart[]): { start: Nanoseconds; end: Nanoseconds } | null {
  let [start, end]: [Nanoseconds | null, Nanoseconds | null] = [null, null];
  for (const { time, timeScale } of parts) {
    const { values, nsec } = time;
    let [low, high] = [-1, -1];
    const isBefore = (a: number, b: number): boolean =>
      values[a]! < values[b]! || (values[a] === values[b] && nsec !== null && nsec[a]! < nsec[b]!);
    for (let row = 0; row < values.length; row++) {
      if (!Number.isFinite(values[row]! * timeScale * 1e9)) continue;
      if (low < 0 || isBefore(row, low)) low = row;
      if (high < 0 || isBefore(high, row)) high = row;
    }
    if (low < 0) continue;
    const at = (row: number): Nanoseconds =>
      nsec === null
        ? BigInt(Math.round(values[row]! * timeScale * 1e9))
        : BigInt(values[row]!) * billion + BigInt(nsec[row]!);
    if (start === null || at(low) < start) start = at(low);
    if (end === null || at(high) > end) end = at(high);
  }
  return start === null || end === null ? null : { start, end };
}

/**
 * Rows as a signal: those with a time and at least one cell that is not blank; a blank cell among others is NaN. A table
 * knows one time only, which is stamp and receipt alike.
 *
 * @param start  instants are seconds after it, nanoseconds
 * @param span   only rows at [start, end) seconds after it
 */
export function signalOfRows(
  { signal, topic }: Pick<SignalRequest, "signal" | "topic">,
  parts: readonly SignalPart[],
  {
    start,
    span,
    type,
    units,
    notes,
  }: {
    start: Nanoseconds;
    span: readonly [number, number] | null;
    type: string;
    units: Readonly<Record<string, string | null>>;
    notes: readonly string[];
  },
): { signal: RecordedSignal; timeless: number } {
  const kept = parts.map((part) => keptRows(part, start, span));
  const rows = kept.map((part) => part.rows);
  const names = Object.keys(parts[0]?.columns ?? {});
  const columns = Object.fromEntries(
    names.map((name) => [
      name,
      joined(
        parts.map((part) => part.columns[name]!.values),
        rows,
      ),
    ]),
  );
  const seconds = kept.map((part) => part.seconds);
  const stamps: StampColumn = { epoch: start, seconds: joined(seconds, rows) };
  return {
    signal: {
      signal,
      topic,
      type,
      frameId: "",
      received: stamps,
      stamped: stamps,
      zeroStamps: 0,
      columns,
      given: {},
      units,
      ...(notes.length > 0 ? { notes } : {}),
    },
    timeless: kept.reduce((sum, part) => sum + part.timeless, 0),
  };
}

/** The kept rows of all parts, one part after the other. */
function joined(parts: readonly Float64Array[], rows: readonly Uint32Array[]): Float64Array {
  const kept = parts.map((values, k) => gather(values, rows[k]!));
  if (kept.length === 1) return kept[0]!;
  const out = new Float64Array(kept.reduce((sum, { length }) => sum + length, 0));
  let at = 0;
  for (const values of kept) {
    out.set(values, at);
    at += values.length;
  }
  return out;
}

/** Seconds after `start` of every row, and the rows that are kept. */
function keptRows(
  { rows, time, timeScale, columns }: SignalPart,
  start: Nanoseconds,
  span: readonly [number, number] | null,
): { rows: Uint32Array; seconds: Float64Array; timeless: number } {
  const startSec = Number(start / billion);
  const startNsec = Number(start % billion);
  const seconds = new Float64Array(rows);
  for (let row = 0; row < rows; row++) {
    const value = time.values[row]!;
    seconds[row] =
      time.nsec === null
        ? value * timeScale - startSec - startNsec / 1e9
        : secondsAfter(value, time.nsec[row]!, startSec, startNsec);
  }
  const blanks = Object.values(columns).map(({ blank }) => blank);
  // a row is empty only where every column has a blank there
  const masks = blanks.length > 0 && blanks.every((mask) => mask !== null) ? (blanks as Uint8Array[]) : null;
  const out = new Uint32Array(rows);
  let count = 0;
  let timeless = 0;
  for (let row = 0; row < rows; row++) {
    const at = seconds[row]!;
    if (!Number.isFinite(at * 1e9)) {
      timeless++;
      continue;
    }
    if (span !== null && !(at >= span[0] && at < span[1])) continue;
    if (masks?.every((mask) => mask[row] === 1)) continue;
    out[count++] = row;
  }
  return { rows: out.subarray(0, count), seconds, timeless };
}
