import { RecordDamage } from "../../messages/RecordDamage.ts";
import type { PageFile } from "./PageFile.ts";

/**
 * Pages that a database no longer uses; they may still hold rows that were deleted.
 *
 * @returns null where the list of them cannot be read to its end
 * @source SQLite, Database File Format, section 1.5 (the freelist)
 */
export function freePages(file: PageFile): ReadonlySet<number> | null {
  const free = new Set<number>();
  try {
    const first = file.page(1);
    const count = first.view.getUint32(first.at + 36);
    if (count > file.pages) return null;
    let trunk = first.view.getUint32(first.at + 32);
    while (trunk !== 0) {
      const { view, at } = file.page(trunk);
      const leaves = view.getUint32(at + 4);
      if (free.has(trunk) || leaves > file.usable / 4 - 2) return null;
      free.add(trunk);
      for (let k = 0; k < leaves; k++) free.add(view.getUint32(at + 8 + 4 * k));
      if (free.size > count) return null;
      trunk = view.getUint32(at);
    }
    return free.size === count ? free : null;
  } catch (cause) {
    if (!(cause instanceof RecordDamage)) throw cause;
    return null;
  }
}
