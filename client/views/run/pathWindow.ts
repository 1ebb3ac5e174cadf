import type { SeriesAnswer } from "../../../src/contract/api/runAnswers.ts";

type Span = readonly [number, number];

/** more cycles than this over one another are a smear */
const mostCycles = 24;

export interface PathWindow {
  readonly window: Span | null;
  readonly text: string;
}

/**
 * The stretch whose path is drawn: the marked window; else the cycles, of many only the first; else the hold; else all.
 */
export function pathWindow(marked: Span | null, cycles: readonly Span[], hold: Span | null): PathWindow {
  if (marked !== null) return { window: marked, text: "the marked window" };
  const first = cycles[0];
  if (first !== undefined) {
    const count = Math.min(cycles.length, mostCycles);
    const last = cycles[count - 1]!;
    const text = count < cycles.length ? `cycles 1 to ${count} of ${cycles.length}` : `all ${count} cycles`;
    return { window: [first[0], last[1]], text };
  }
  return hold === null ? { window: null, text: "the whole recording" } : { window: hold, text: "the hold window" };
}

/**
 * Whether a cycle holds fewer points than `points`; false where nothing repeats.
 *
 * @param instants  of the points, seconds
 */
export function isCoarse(instants: readonly number[], period: number | null, points: number): boolean {
  if (period === null || instants.length < 2) return false;
  const mean = (instants[instants.length - 1]! - instants[0]!) / (instants.length - 1);
  return mean > period / points;
}

/** The part of a path within a window, to its end not included; what the cut leaves without a point is left out. */
export function cropPath(path: SeriesAnswer["path"], [from, to]: Span): SeriesAnswer["path"] {
  const crop = (lines: SeriesAnswer["path"]["measured"]): SeriesAnswer["path"]["measured"] =>
    lines.flatMap((line) => {
      const a = line.t.findIndex((t) => t >= from);
      if (a < 0) return [];
      const end = line.t.findIndex((t) => t >= to);
      const b = end < 0 ? line.t.length : end;
      if (b <= a) return [];
      return [{ t: line.t.slice(a, b), x: line.x.slice(a, b), y: line.y.slice(a, b), z: line.z.slice(a, b) }];
    });
  return { measured: crop(path.measured), command: crop(path.command) };
}
