import { element } from "../../app/element.ts";
import { noValue } from "../../app/words.ts";
import { csvText } from "../../figures/csvText.ts";
import { downloadText, fileName } from "../../figures/download.ts";

export interface TableCell {
  /** as it is read */
  readonly text: string;
  /** as it goes into the file; left out: the text */
  readonly value?: string | number | null;
}

/** A number as it is read, and as it goes into the file. */
export function numberCell(value: number | null, text: (value: number) => string): TableCell {
  return value === null ? { text: noValue, value: null } : { text: text(value), value };
}

/**
 * A table of figures with its caption and its download. The first cell of a row names the row.
 *
 * @param columns  headings with units, as they are read; the file's numbers stand in `fileColumns`' units
 */
export function figuresTable(table: {
  readonly name: string;
  readonly caption: string;
  readonly columns: readonly string[];
  readonly fileColumns?: readonly string[];
  readonly rows: readonly (readonly TableCell[])[];
}): HTMLElement {
  const { name, caption, columns, rows } = table;
  const isNumber = columns.map((_, k) => rows.some((row) => typeof row[k]?.value === "number"));
  const save = (): void => {
    const plain = rows.map((row) => row.map(({ text, value }) => (value === undefined ? text : value)));
    downloadText(`${fileName(name)}.csv`, "text/csv", csvText({ columns: table.fileColumns ?? columns, rows: plain }));
  };
  return element("div", { class: "run-table" }, [
    element("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": caption }, [
      element("table", { class: "figures" }, [
        element("caption", { text: caption }),
        element("thead", {}, [
          element(
            "tr",
            {},
            columns.map((text, k) => element("th", { scope: "col", class: isNumber[k] ? "number" : "", text })),
          ),
        ]),
        element(
          "tbody",
          {},
          rows.map((row) =>
            element(
              "tr",
              {},
              row.map(({ text }, k) =>
                k === 0
                  ? element("th", { scope: "row", text })
                  : element("td", { class: isNumber[k] ? "number" : text.length > 30 ? "words" : "", text }),
              ),
            ),
          ),
        ),
      ]),
    ]),
    element("p", { class: "downloads no-print" }, [
      "Download ",
      element("button", {
        type: "button",
        class: "plain",
        text: "CSV",
        "aria-label": `Download "${caption}" as CSV`,
        on: { click: save },
      }),
    ]),
  ]);
}
