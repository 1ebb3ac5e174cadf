import { RecordDamage } from "../../messages/RecordDamage.ts";
import type { PageFile } from "./PageFile.ts";
import { type Cell, isLeaf, walkPage } from "./walkTable.ts";

interface Leaf {
  readonly page: number;
  readonly first: number;
  readonly last: number;
}

/**
 * Leaf pages of a table that nothing links to any more, found by what is on them; in the order of their rows.
 *
 * A page counts only if every row on it fits, if the rows' numbers ascend, and if none of them lies within those of another page. A page
 * that a long row spills over to begins with the number of the next and so is never taken for a leaf below 2^24 * 13 pages.
 *
 * @param walked  pages that were reached
 * @param free    pages that the database does not use
 * @param fits    whether a row can be one of the table
 */
export function strayLeaves(
  file: PageFile,
  walked: ReadonlySet<number>,
  free: ReadonlySet<number>,
  fits: (cell: Cell, view: DataView, pageStart: number) => boolean,
): number[] {
  const found: Leaf[] = [];
  for (let page = 2; page <= file.pages; page++) {
    if (walked.has(page) || free.has(page)) continue;
    const leaf = leafOf(file, page, fits);
    if (leaf !== null) found.push(leaf);
  }
  const inOrder = (a: Leaf, b: Leaf): number => a.first - b.first;
  const linked = Array.from(walked, (page) => leafOf(file, page, () => true)).filter((leaf) => leaf !== null);
  linked.sort(inOrder);
  const pages: number[] = [];
  let last = Number.NEGATIVE_INFINITY;
  for (const leaf of found.sort(inOrder)) {
    if (leaf.first <= last || overlaps(linked, leaf)) continue;
    pages.push(leaf.page);
    last = leaf.last;
  }
  return pages;
}

/** The rows of a page where it is a leaf and all of them fit. */
function leafOf(
  file: PageFile,
  page: number,
  fits: (cell: Cell, view: DataView, pageStart: number) => boolean,
): Leaf | null {
  const cell: Cell = { rowid: 0, page: 0, offset: 0, length: 0, local: 0 };
  let [first, last] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  try {
    if (!isLeaf(file, page)) return null;
    walkPage(file, page, cell, (each, view, pageStart) => {
      if (!(each.rowid > last && fits(each, view, pageStart))) throw new RecordDamage("another table's row");
      first = Math.min(first, each.rowid);
      last = each.rowid;
    });
  } catch (cause) {
    if (!(cause instanceof RecordDamage)) throw cause;
    return null;
  }
  return last < first ? null : { page, first, last };
}

/** Whether a page's rows lie among those of others, which are in order and apart from each other. */
function overlaps(leaves: readonly Leaf[], { first, last }: Leaf): boolean {
  let [low, high] = [0, leaves.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (leaves[middle]!.first <= last) low = middle + 1;
    else high = middle;
  }
  return low > 0 && leaves[low - 1]!.last >= first;
}
