import { type CellAxis, type JudgedIn, type MeasureId, measureOf } from "../catalogue/measures.ts";
import type { Subject } from "../foundation/tracks.ts";
import { joinWords } from "./amounts.ts";

const inHeading: Readonly<Record<CellAxis, string>> = { x: "forward", y: "left", z: "up", norm: "overall" };

/** What the manifest calls the world's axes, such as "towards the wall"; null or left out: by its letter alone. */
export type AxisNames = Readonly<Partial<Record<CellAxis, string | null>>>;

/** An axis as a person reads it: x, y, z; or forward, left, up where errors are judged in the heading; or all of them. */
export function axisWord(axis: CellAxis, judgedIn: JudgedIn): string {
  return judgedIn === "heading" || axis === "norm" ? inHeading[axis] : axis;
}

/** The axes in which the errors of each trajectory are judged, by its name. */
export type JudgedTrajectories = Readonly<Record<string, { readonly axes: JudgedIn }>>;

/** The axes in which a place is judged: the arm's own are the vehicle's, whichever way it faces. */
export function judgedAt(
  judged: JudgedTrajectories,
  { trajectory, subject }: { readonly trajectory: string; readonly subject: Subject },
): JudgedIn {
  return subject === "arm" ? "vehicle" : (judged[trajectory]?.axes ?? "world");
}

/** An axis of a place as a table names it: "y", or "left". */
export function axisAt(
  judged: JudgedTrajectories,
  place: { readonly trajectory: string; readonly subject: Subject; readonly axis: CellAxis },
): string {
  return axisWord(place.axis, judgedAt(judged, place));
}

/**
 * An axis of the world with what the manifest calls it.
 *
 * @example axisLabel("x", { x: "towards the wall" }) // => "x (towards the wall)"
 */
export function axisLabel(axis: CellAxis, names: AxisNames): string {
  const name = names[axis] ?? null;
  return name === null ? axis : `${axis} (${name})`;
}

/** The names that stand on some cells: none on those that are judged in other axes than the world's. */
export function axisNamesOf(
  cells: readonly { readonly axis: CellAxis; readonly axis_name: string | null }[],
): AxisNames {
  return Object.fromEntries(cells.flatMap(({ axis, axis_name: name }) => (name === null ? [] : [[axis, name]])));
}

/**
 * @example alongText(["x", "z"], "world") // => "along x and z"; "" for what stands over all axes together
 * @example alongText(["x", "z"], "heading") // => "along the forward and up axes"
 * @example alongText(["x"], "world", { x: "towards the wall" }) // => "along x (towards the wall)"
 */
export function alongText(axes: readonly CellAxis[], judgedIn: JudgedIn, names: AxisNames = {}): string {
  const named = axes.filter((axis) => axis !== "norm");
  if (named.length === 0) return "";
  const words = joinWords(
    named.map((axis) => (judgedIn === "world" ? axisLabel(axis, names) : axisWord(axis, judgedIn))),
  );
  return `along ${judgedIn === "heading" ? `the ${words} ${named.length > 1 ? "axes" : "axis"}` : words}`;
}

/** @example placeWords("vehicle", ["x"], "world") // => "vehicle along x"; "vehicle" for what stands over all axes together */
export function placeWords(
  subject: Subject,
  axes: readonly CellAxis[],
  judgedIn: JudgedIn,
  names: AxisNames = {},
): string {
  return `${subject} ${alongText(axes, judgedIn, names)}`.trimEnd();
}

/** The head of a board's column, over cells that may be judged in different axes. */
export function columnHead(
  axis: CellAxis,
  cells: readonly { readonly axis: CellAxis; readonly axis_name: string | null; readonly judged_in: JudgedIn }[],
): string {
  if (axis === "norm") return "overall";
  const names = axisNamesOf(cells);
  const heads = cells.map(({ judged_in: one }) => (one === "world" ? axisLabel(axis, names) : axisWord(axis, one)));
  return [...new Set(heads)].join(" or ");
}

/** A cell's measure as a sentence names it, such as "rms error". */
export function measureLabel(id: MeasureId): string {
  return measureOf(id).label;
}
