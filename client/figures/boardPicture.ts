import { measureAxes } from "../../src/catalogue/measures.ts";
import type { Cell } from "../../src/contract/cell.ts";
import type { Subject } from "../../src/foundation/tracks.ts";
import { unitName } from "../../src/words/amounts.ts";
import { columnHead } from "../../src/words/places.ts";
import { verdictSigns } from "../app/statusWords.ts";
import { intervalText, signedAmount } from "../app/words.ts";
import { type BoardScale, boardScale } from "./boardScale.ts";
import { cellSketch, sketchSize } from "./cellSketch.ts";
import { drawingRoot, svg } from "./svg.ts";

const side = 96;
const gap = 16;
const head = 46;
const high = sketchSize.height + 52;

interface BoardPictureText {
  readonly caption: string;
  /** of its differences, in the unit read */
  readonly decimals: (cell: Cell) => number;
  readonly trajectories: readonly string[];
  readonly subjects: readonly Subject[];
}

/** The whole board as one picture, for a paper or a slide. */
export function boardPicture(cells: readonly Cell[], text: BoardPictureText): SVGSVGElement {
  const rows = text.trajectories.flatMap((trajectory) =>
    text.subjects
      .map((subject) => cells.filter((cell) => cell.trajectory === trajectory && cell.subject === subject))
      .filter((row) => row.length > 0),
  );
  const x = (column: number): number => side + column * (sketchSize.width + gap);
  const y = (row: number): number => head + row * high;
  const axes = cells[0] === undefined ? [] : measureAxes(cells[0].metric);
  const unit = cells[0] === undefined ? "" : unitName(cells[0].unit);
  const size = { width: x(axes.length), height: y(rows.length) + 8 };
  return drawingRoot(size, { title: "Board of verdicts", description: text.caption }, [
    svg("text", { class: "quiet-text", x: 0, y: 14, text: text.caption }),
    ...axes.map((axis, k) =>
      svg("text", { class: "strong", x: x(k), y: 36, text: `${columnHead(axis, cells)}, ${unit}` }),
    ),
    ...rows.flatMap((row, k) => [
      svg("line", { class: "grid", x1: 0, x2: size.width, y1: y(k), y2: y(k) }),
      svg("text", { class: "strong", x: 0, y: y(k) + 18, text: row[0]!.trajectory }),
      svg("text", { x: 0, y: y(k) + 34, text: row[0]!.subject }),
      ...row.map((cell) => pictureCell(cell, boardScale(row), x(axes.indexOf(cell.axis)), y(k))),
    ]),
  ]);

  function pictureCell(cell: Cell, scale: BoardScale, left: number, top: number): SVGElement {
    const { verdict, fragile } = cell;
    const sketch = cellSketch(cell, scale);
    sketch.setAttribute("y", "22");
    sketch.setAttribute("width", String(sketchSize.width));
    sketch.setAttribute("height", String(sketchSize.height));
    const word = verdict === null ? "exploratory" : `${verdictSigns[verdict]} ${verdict}`;
    const decimals = text.decimals(cell);
    const numbers = `${signedAmount(cell.difference, cell.unit, decimals)} ${intervalText(cell.ci95, cell.unit, decimals)} ${unit}, ${cell.baseline.n} v ${cell.candidate.n}`;
    return svg("g", { transform: `translate(${left},${top})` }, [
      svg("text", { class: "strong", x: 6, y: 18, text: `${word}${fragile.length > 0 ? " (fragile)" : ""}` }),
      sketch,
      svg("text", { x: 6, y: sketchSize.height + 36, text: numbers }),
    ]);
  }
}
