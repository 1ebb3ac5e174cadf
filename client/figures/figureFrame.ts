import { element } from "../app/element.ts";
import type { Drawing, FigureText } from "./Figure.ts";
import { atWidth, likelyWidth } from "./panels.ts";
import { csvText, downloadText, fileName, paperEdge, savePng, saveSvg, type Table } from "./saveDrawing.ts";

/** widths of one and two columns of a journal, millimetres (common practice, no source) */
const columns = [88, 181] as const;

/**
 * A drawing in its frame: title, how to read it, the drawing, what it shows as a table, and its downloads.
 *
 * @param drawing        for a width in pixels, where it can be drawn at the width that it has
 * @param options.level  of the title among the page's headings; default 3
 * @param options.wide   takes the whole width of the page
 */
export function figureFrame(
  text: FigureText,
  drawing: Drawing | ((width: number) => Drawing),
  options: { level?: 2 | 3 | 4; wide?: boolean } = {},
): HTMLElement {
  const name = fileName(text.name);
  const place = element("div", { class: "drawing-place" });
  let shown: Drawing;
  const show = (now: Drawing): void => {
    shown = now;
    place.replaceChildren(now.svg);
  };
  if (typeof drawing === "function") atWidth(place, (width) => show(drawing(width)), likelyWidth(options.wide ? 1 : 2));
  else show(drawing);
  const button = (what: string, save: () => void): HTMLElement =>
    element("button", {
      type: "button",
      class: "plain",
      text: what,
      "aria-label": `Download "${text.title}" as ${what}`,
      on: { click: save },
    });
  return element("figure", { class: options.wide ? "figure wide" : "figure" }, [
    element("figcaption", {}, [
      element(`h${options.level ?? 3}`, { text: text.title }),
      element("p", { class: "quiet", text: text.caption }),
    ]),
    place,
    element("div", { class: "figure-foot" }, [
      element("details", {}, [element("summary", { text: "As table" }), tableElement(text.title, shown!.table)]),
      element("p", { class: "downloads" }, [
        text.how === undefined
          ? null
          : element("a", { class: "how", href: `/manual/${text.how}`, text: "How is this computed?" }),
        " Download ",
        button("SVG", () => saveSvg(shown.svg, name, text)),
        // as wide as one column of a journal, and as two: drawn for that width, so that type keeps its size
        ...(typeof drawing === "function"
          ? columns.map((millimetres) =>
              button(`${millimetres} mm`, () => {
                const paper = { ...text, millimetres };
                saveSvg(
                  drawing(Math.round((millimetres / 25.4) * 96) - paperEdge).svg,
                  `${name}-${millimetres}mm`,
                  paper,
                );
              }),
            )
          : []),
        button("PNG", () => void savePng(shown.svg, name, text)),
        button("CSV", () => downloadText(`${name}.csv`, "text/csv", csvText(shown.table))),
      ]),
    ]),
  ]);
}

function tableElement(caption: string, { columns, rows }: Table): HTMLElement {
  return element("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": `${caption}, as table` }, [
    element("table", { class: "figures" }, [
      element("caption", { class: "unseen", text: caption }),
      element("thead", {}, [
        element(
          "tr",
          {},
          columns.map((column) => element("th", { scope: "col", text: column })),
        ),
      ]),
      element(
        "tbody",
        {},
        rows.map((row) =>
          element(
            "tr",
            {},
            row.map((value, k) =>
              k === 0
                ? element("th", { scope: "row", text: value ?? "" })
                : element("td", { class: typeof value === "number" ? "number" : "", text: value ?? "" }),
            ),
          ),
        ),
      ),
    ]),
  ]);
}

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
