import { SignalTable } from "../messages/SignalTable.ts";
import { type Formats, readerOfType } from "./formats.ts";
import type { DataTarget } from "./walkUlog.ts";

/** How the columns of a signal are taken from the messages of one topic. */
export interface TopicColumns {
  /** column -> path in the format */
  readonly paths: Readonly<Record<string, string>>;
  readonly masked: boolean;
  /** column -> whether a value says "unknown" */
  readonly unknown: Readonly<Record<string, (value: number) => boolean>>;
}

/**
 * A table that fills itself from the messages of one topic.
 *
 * Stamped: timestamp_sample where the format has it and it is not zero, else timestamp. Received: timestamp, but not before
 * the log began: on subscribing a logger also writes the last value, however old, and its stamp then lies far from that.
 *
 * @param start  of the log, microseconds
 * @param into   the table to go on with, where the topic was subscribed to before; null: a new one
 * @returns null where the format has no timestamp, or lacks a path
 */
export function topicTable(
  formats: Formats,
  format: string,
  { paths, masked, unknown }: TopicColumns,
  { start, span, into }: { start: number; span: readonly [number, number] | null; into: SignalTable | null },
): { table: SignalTable; target: DataTarget } | null {
  const leaves = Object.entries(paths).map(([name, path]) => ({ name, leaf: formats.leaf(format, path) }));
  const time = formats.leaf(format, "timestamp");
  const sampled = formats.leaf(format, "timestamp_sample");
  if (time?.type !== "uint64_t" || leaves.some(({ leaf }) => leaf === null)) return null;
  const columns = leaves.map(({ name }) => name);
  const options = { capacity: 1024, stamped: true, asLogged: true, ...(masked ? { maskable: columns } : {}) };
  const table = into ?? new SignalTable(columns, options);
  const readers = leaves.map(({ name, leaf }) => ({
    offset: leaf!.offset,
    read: readerOfType(leaf!.type),
    unknown: unknown[name] ?? null,
  }));
  const micros = readerOfType("uint64_t");
  const [from, until] = span ?? [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY];
  const target: DataTarget = (view, at) => {
    const written = micros(view, at + time.offset);
    const receipt = Math.max(0, written - start) / 1e6;
    if (receipt < from || receipt >= until) return;
    const own = sampled?.type === "uint64_t" ? micros(view, at + sampled.offset) : 0;
    const stamp = own === 0 ? written : own;
    const sec = Math.floor(stamp / 1e6);
    table.receipt = receipt;
    const row = table.addRow(sec, (stamp - sec * 1e6) * 1000);
    for (let k = 0; k < readers.length; k++) {
      const { offset, read, unknown: isUnknown } = readers[k]!;
      const value = read(view, at + offset);
      table.columns[k]![row] = isUnknown?.(value) === true ? Number.NaN : value;
      const mask = table.masks[k];
      if (mask) mask[row] = Number.isNaN(value) ? 0 : 1;
    }
  };
  return { table, target };
}
