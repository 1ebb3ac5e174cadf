import { element } from "../app/element.ts";
import { atWidth, likelyWidth } from "./atWidth.ts";
import { csvText, type Table } from "./csvText.ts";
import { downloadText, fileName } from "./download.ts";
import type { Drawing, FigureText } from "./Figure.ts";
import { savePng, saveSvg } from "./saveDrawing.ts";

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
        "Download ",
        button("SVG", () => saveSvg(shown.svg, name)),
        button("PNG", () => void savePng(shown.svg, name)),
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
