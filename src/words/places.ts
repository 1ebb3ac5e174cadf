import type { JudgedIn } from "../catalogue/axes.ts";
import { type CellAxis, type MeasureId, measureOf } from "../catalogue/measures.ts";
import type { Subject } from "../foundation/signals.ts";
import { joinWords } from "./lists.ts";

const inHeading: Readonly<Record<CellAxis, string>> = { x: "forward", y: "left", z: "up", norm: "overall" };

/** An axis as a person reads it: x, y, z; or forward, left, up where errors are judged in the heading; or all of them. */
export function axisWord(axis: CellAxis, judgedIn: JudgedIn): string {
  return judgedIn === "heading" || axis === "norm" ? inHeading[axis] : axis;
}

/**
 * @example alongText(["x", "z"], "world") // => "along x and z"; "" for what stands over all axes together
 * @example alongText(["x", "z"], "heading") // => "along the forward and up axes"
 */
export function alongText(axes: readonly CellAxis[], judgedIn: JudgedIn): string {
  const named = axes.filter((axis) => axis !== "norm");
  if (named.length === 0) return "";
  const words = joinWords(named.map((axis) => axisWord(axis, judgedIn)));
  return `along ${judgedIn === "heading" ? `the ${words} ${named.length > 1 ? "axes" : "axis"}` : words}`;
}

/** @example placeWords("vehicle", ["x"], "world") // => "vehicle along x"; "vehicle" for what stands over all axes together */
export function placeWords(subject: Subject, axes: readonly CellAxis[], judgedIn: JudgedIn): string {
  return `${subject} ${alongText(axes, judgedIn)}`.trimEnd();
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
