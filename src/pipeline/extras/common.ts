import type { AlignedRun } from "../../alignment/alignRun.ts";
import type { Subject, Window } from "../../foundation/tracks.ts";
import type { Seconds } from "../../foundation/units.ts";

/** Median interval of a subject's samples, seconds. */
export function intervalOf(run: AlignedRun, subject: Subject): Seconds {
  return run.intervals[subject === "effector" ? "effector" : "vehicle"]!;
}

/** The cycles, else the hold: where the budget and the spectrum are taken. */
export function widest(run: AlignedRun): { window: Window; name: "cycles" | "hold" } | null {
  if (run.cycles.length > 0) return { window: [run.cycles[0]![0], run.cycles.at(-1)![1]], name: "cycles" };
  return run.hold === null ? null : { window: run.hold, name: "hold" };
}

/** The record, or null where it holds nothing. */
export function some<T extends object>(record: T): T | null {
  return Object.keys(record).length === 0 ? null : record;
}

/** Five digits are more than a curve is good for, and halve the file. */
export function rounded(values: Iterable<number>, digits = 5): number[] {
  return Array.from(values, (value) => Number(value.toPrecision(digits)));
}
