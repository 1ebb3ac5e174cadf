import { element } from "../app/element.ts";
import { csvText, type Table } from "./csvText.ts";
import { downloadText, fileName } from "./download.ts";
import type { Drawing, FigureText } from "./Figure.ts";
import { savePng, saveSvg } from "./saveDrawing.ts";

/**
 * A drawing in its frame: title, how to read it, the drawing, what it shows as a table, and its downloads.
 *
 * @param options.level  of the title among the page's headings; default 3
 * @param options.wide   takes the whole width of the page
 */
export function figureFrame(
  text: FigureText,
  drawing: Drawing,
  options: { level?: 2 | 3 | 4; wide?: boolean } = {},
): HTMLElement {
  const name = fileName(text.name);
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
    drawing.svg,
    element("div", { class: "figure-foot" }, [
      element("details", {}, [element("summary", { text: "As table" }), tableElement(text.title, drawing.table)]),
      element("p", { class: "downloads" }, [
        "Download ",
        button("SVG", () => saveSvg(drawing.svg, name)),
        button("PNG", () => void savePng(drawing.svg, name)),
        button("CSV", () => downloadText(`${name}.csv`, "text/csv", csvText(drawing.table))),
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
