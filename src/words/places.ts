import { type CellAxis, type MeasureId, measureOf } from "../catalogue/measures.ts";
import { joinWords } from "./lists.ts";

/** @example alongText(["x", "z"]) // => "along x and z"; what is no axis is over all of them: "overall" */
export function alongText(axes: readonly CellAxis[]): string {
  const named = axes.filter((axis) => axis !== "norm");
  return joinWords([
    ...(named.length === 0 ? [] : [`along ${joinWords(named)}`]),
    ...(named.length < axes.length ? ["overall"] : []),
  ]);
}

/** A cell's measure as a sentence names it, such as "rms error". */
export function measureLabel(id: MeasureId): string {
  return measureOf(id).label;
}
