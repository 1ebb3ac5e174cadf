import { RecordDamage } from "../../messages/RecordDamage.ts";
import type { PageFile } from "./PageFile.ts";
import type { Cell } from "./walkTable.ts";

/**
 * The whole record of a row that spills over its page, put together; `into` has at least `cell.length` bytes.
 *
 * @throws RecordDamage  the chain of pages ends early or leads in a circle
 */
export function gatherRecord(file: PageFile, cell: Readonly<Cell>, into: Uint8Array): void {
  const { usable, pages } = file;
  let { view, at } = file.page(cell.page);
  const from = at + cell.offset;
  into.set(new Uint8Array(view.buffer, view.byteOffset + from, cell.local));
  let done = cell.local;
  let next = cell.length > cell.local ? view.getUint32(from + cell.local) : 0;
  for (let steps = 0; done < cell.length; steps++) {
    if (next === 0 || steps > pages)
      throw new RecordDamage(`row ${cell.rowid} ends after ${done} of ${cell.length} bytes`);
    ({ view, at } = file.page(next));
    const part = Math.min(usable - 4, cell.length - done);
    into.set(new Uint8Array(view.buffer, view.byteOffset + at + 4, part), done);
    done += part;
    next = view.getUint32(at);
  }
}
