import { ColumnFigures, type ColumnStats } from "./ColumnStats.ts";
import { isText, readDecimal } from "./decimal.ts";
import { readDate } from "./instantCell.ts";
import type { CellSink } from "./walkRows.ts";

/** Takes the figures of a column of text cells; dates count as seconds since 1970. */
export function statSink(point: number): CellSink & { finish(): ColumnStats } {
  const figures = new ColumnFigures();
  const instant = { sec: Number.NaN, nsec: Number.NaN };
  // a cell counts once its row is known to hold no more cells than the table has columns
  let value = Number.NaN;
  let kind: "number" | "blank" | "text" | "none" = "none";
  let held = -1;
  const settle = (): void => {
    if (kind === "number") figures.add(value);
    else if (kind === "blank") figures.blank++;
    else if (kind === "text") figures.texts++;
    kind = "none";
  };
  return {
    numbers: null,
    take: (row, bytes, from, to) => {
      settle();
      held = row;
      kind = "number";
      value = readDecimal(bytes, from, to, point);
      if (!Number.isNaN(value)) return;
      if (from === to || !isText(bytes, from, to)) {
        kind = "blank";
        return;
      }
      readDate(Buffer.from(bytes.subarray(from, Math.min(to, from + 64))).toString("latin1"), instant);
      if (Number.isNaN(instant.sec)) kind = "text";
      else value = instant.sec + instant.nsec / 1e9;
    },
    skip: () => {
      settle();
      kind = "blank";
    },
    discard: (row) => {
      if (held !== row) settle();
      kind = "blank";
    },
    finish: () => {
      settle();
      return figures.finish();
    },
  };
}
