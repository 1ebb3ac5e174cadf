import type { Cell } from "../../../src/contract/cell.ts";
import { element } from "../../app/element.ts";
import { placeName } from "../../app/names.ts";
import { cellRemark } from "./boardFacts.ts";

/** The remarks on single cells, under the numbers that stand in the board. */
export function boardNotes(numbered: ReadonlyMap<Cell, number>): HTMLElement | null {
  if (numbered.size === 0) return null;
  return element(
    "ol",
    { class: "notes small", "aria-label": "Remarks on single cells" },
    [...numbered.keys()].map((cell) =>
      element("li", {}, [element("span", { text: `${placeName(cell)}: ${cellRemark(cell)?.text ?? ""}.` })]),
    ),
  );
}
