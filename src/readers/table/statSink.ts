import { ColumnFigures } from "./ColumnStats.ts";
import { isText, readDecimal } from "./decimal.ts";
import { readDate } from "./instantCell.ts";
import type { CellSink } from "./walkRows.ts";

/** Takes the figures of a column of text cells; dates count as seconds since 1970. */
export function statSink(point: number): CellSink & { readonly figures: ColumnFigures } {
  const figures = new ColumnFigures();
  const instant = { sec: Number.NaN, nsec: Number.NaN };
  return {
    figures,
    take: (_, bytes, from, to) => {
      const value = readDecimal(bytes, from, to, point);
      if (!Number.isNaN(value)) {
        figures.add(value);
        return;
      }
      if (from === to || !isText(bytes, from, to)) {
        figures.blank++;
        return;
      }
      readDate(Buffer.from(bytes.subarray(from, Math.min(to, from + 64))).toString("latin1"), instant);
      if (Number.isNaN(instant.sec)) figures.texts++;
      else figures.add(instant.sec + instant.nsec / 1e9);
    },
    skip: () => {
      figures.blank++;
    },
    // counted as it stands: a survey says how many such rows there are
    discard: () => {},
  };
}
