import type { JudgedIn } from "../catalogue/axes.ts";
import { type CellAxis, type MeasureId, measureOf } from "../catalogue/measures.ts";
import { joinWords } from "./lists.ts";

const inHeading: Readonly<Record<CellAxis, string>> = { x: "forward", y: "left", z: "up", norm: "norm" };

/** An axis as a person reads it: x, y, z; or forward, left, up where errors are judged in the heading. */
export function axisWord(axis: CellAxis, judgedIn: JudgedIn): string {
  return judgedIn === "heading" ? inHeading[axis] : axis;
}

/**
 * @example alongText(["x", "z"], "world") // => "along x and z"; what is no axis is over all of them: "overall"
 * @example alongText(["x", "z"], "heading") // => "along the forward and up axes"
 */
export function alongText(axes: readonly CellAxis[], judgedIn: JudgedIn): string {
  const named = axes.filter((axis) => axis !== "norm");
  const words = joinWords(named.map((axis) => axisWord(axis, judgedIn)));
  const along = judgedIn === "heading" ? `the ${words} ${named.length > 1 ? "axes" : "axis"}` : words;
  return joinWords([
    ...(named.length === 0 ? [] : [`along ${along}`]),
    ...(named.length < axes.length ? ["overall"] : []),
  ]);
}

/** The head of a board's column, over cells that may be judged in different axes. */
export function columnHead(axis: CellAxis, judged: readonly JudgedIn[]): string {
  if (axis === "norm") return "overall";
  return [...new Set(judged.map((one) => axisWord(axis, one)))].join(" or ");
}

/** A cell's measure as a sentence names it, such as "rms error". */
export function measureLabel(id: MeasureId): string {
  return measureOf(id).label;
}
