import { RecordDamage } from "../../messages/RecordDamage.ts";
import type { PageFile } from "./PageFile.ts";
import { readSignedVarint, type Varint } from "./varint.ts";
import { interior } from "./walkTable.ts";

/**
 * The highest row number that a table's pages speak of, its rows themselves apart: each cell of an interior page has the highest one of
 * the page it leads to.
 *
 * @param walked  pages of the table that were reached
 * @returns -Infinity where there is no interior page
 * @source SQLite, Database File Format, section 1.6
 */
export function highestRow(file: PageFile, walked: ReadonlySet<number>): number {
  const number: Varint = { value: 0, next: 0 };
  let highest = Number.NEGATIVE_INFINITY;
  for (const page of walked) {
    try {
      const { view, at } = file.page(page);
      const head = at + (page === 1 ? 100 : 0);
      const cells = view.getUint16(head + 3);
      if (view.getUint8(head) !== interior || cells === 0 || 12 + 2 * cells > file.usable - (head - at)) continue;
      // they ascend
      const last = view.getUint16(head + 12 + 2 * (cells - 1));
      readSignedVarint(view, at + last + 4, at + file.usable, number);
      highest = Math.max(highest, number.value);
    } catch (cause) {
      if (!(cause instanceof RecordDamage)) throw cause;
    }
  }
  return highest;
}
