import { type Axis, axes, type Subject } from "../../../src/foundation/tracks.ts";
import { element } from "../../app/element.ts";
import { roleSigns } from "../../app/statusWords.ts";
import { millimetres, noValue } from "../../app/words.ts";
import { csvText, downloadText, fileName } from "../../figures/saveDrawing.ts";
import { meansOf, type RunVectors } from "../../figures/synchronousFigure.ts";
import { degreesText } from "../../figures/uncertainMillimetres.ts";

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

type Role = RunVectors["role"];

/** Amplitude and phase of every run and of both means, millimetres and degrees. */
export function amplitudeTable(
  runs: readonly RunVectors[],
  labels: Readonly<Record<Role, string>>,
  {
    trajectory,
    subject,
    harmonic,
    axisName,
  }: { trajectory: string; subject: Subject; harmonic: number; axisName: (axis: Axis) => string },
): HTMLElement {
  const cells = (vector: readonly [number, number]): TableCell[] => {
    const phase = degreesText(Math.atan2(vector[1], vector[0]));
    return [
      numberCell(Math.hypot(...vector), (metres) => millimetres(metres, 2)),
      { text: phase, value: Number.parseInt(phase, 10) },
    ];
  };
  const means = meansOf(runs);
  const roles = (["baseline", "candidate", "sham"] as const).filter((role) => runs.some((run) => run.role === role));
  const row = (name: string, role: Role, vectors: readonly (readonly [number, number])[]): TableCell[] => [
    { text: name },
    { text: `${roleSigns[role]} ${labels[role]}`, value: labels[role] },
    ...vectors.flatMap(cells),
  ];
  return figuresTable({
    name: `${trajectory} ${subject} harmonic ${harmonic} amplitudes`,
    caption: `Amplitude and phase, harmonic ${harmonic}; a mean is that of the vectors, not of their lengths`,
    columns: ["run", "configuration", ...axes.flatMap((axis) => [`${axisName(axis)}, mm`, `${axisName(axis)} phase`])],
    fileColumns: [
      "run",
      "configuration",
      ...axes.flatMap((axis) => [`${axis} amplitude, m`, `${axis} phase, degrees`]),
    ],
    rows: roles.flatMap((role) => [
      ...runs
        .filter((run) => run.role === role)
        .map(({ run, phasors }) =>
          row(
            run,
            role,
            axes.map((axis) => phasors[axis].vector),
          ),
        ),
      row(
        `mean of ${runs.filter((run) => run.role === role).length}`,
        role,
        axes.map((axis) => means.find((mean) => mean.role === role && mean.axis === axis)!.region.mean),
      ),
    ]),
  });
}
