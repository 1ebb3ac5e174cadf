import type { Table } from "./csvText.ts";
import type { Drawing, FigureText } from "./Figure.ts";
import { figureFrame } from "./figureFrame.ts";

/** rows that are laid out when a reader opens the table; the file holds all */
const mostRows = 500;

/**
 * A drawing of thousands of points in its frame. Its table is made only when a reader opens it: laid out with the page, it
 * would hold tens of thousands of cells and take longer than everything else together.
 *
 * @param drawing  its `table` may be a getter: it is read when the table is opened or downloaded
 */
export function largeFigure(
  text: FigureText,
  drawing: Drawing | ((width: number) => Drawing),
  options: { level?: 2 | 3 | 4; wide?: boolean } = {},
): HTMLElement {
  let framed = false;
  let last: Drawing;
  const later = (own: Drawing): Drawing => {
    last = own;
    return {
      svg: own.svg,
      get table() {
        return framed ? own.table : nothing;
      },
    };
  };
  const frame = figureFrame(
    text,
    typeof drawing === "function" ? (width) => later(drawing(width)) : later(drawing),
    options,
  );
  framed = true;
  const details = frame.querySelector("details");
  details?.addEventListener("toggle", () => details.querySelector(".scroll")?.replaceWith(...laidOut(text, last)), {
    once: true,
  });
  return frame;
}

const nothing: Table = { columns: [], rows: [] };

function laidOut(text: FigureText, drawing: Drawing): Node[] {
  const { columns, rows } = drawing.table;
  const shown = rows.slice(0, mostRows);
  const title = shown.length < rows.length ? `${text.title}, first ${mostRows} of ${rows.length} rows` : text.title;
  // the same table as in any frame, taken out of one that is thrown away
  const spare = figureFrame(
    { ...text, title },
    { svg: document.createElementNS("http://www.w3.org/2000/svg", "svg"), table: { columns, rows: shown } },
  );
  const table = spare.querySelector(".scroll");
  if (table === null) return [];
  if (shown.length === rows.length) return [table];
  const note = document.createElement("p");
  note.className = "quiet";
  note.textContent = `The first ${mostRows} of ${rows.length} rows; the CSV holds all.`;
  return [note, table];
}
