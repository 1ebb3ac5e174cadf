import type { CommandShape } from "../../contract/inspection.ts";

/** Runs that were asked for the same. */
export interface ShapeGroup {
  /** as the manifest calls it */
  readonly name: string;
  /** the middle one of its runs; null: no command tells, a person has to */
  readonly shape: CommandShape | null;
  /** by their place among the runs */
  readonly runs: readonly number[];
  /** what sets a run apart from the others of its group, by its place */
  readonly apart: ReadonlyMap<number, string>;
}

/** Radii, strokes, periods and lengths of one trajectory agree to this, as a share. */
const same = 0.05;

/** Groups runs by what was commanded, the commonest first; those without a command are one group. */
export function groupShapes(shapes: readonly (CommandShape | null)[]): ShapeGroup[] {
  const groups: { first: CommandShape | null; runs: number[] }[] = [];
  for (const [k, shape] of shapes.entries()) {
    const group = groups.find(({ first }) => isAlike(first, shape));
    if (group === undefined) groups.push({ first: shape, runs: [k] });
    else group.runs.push(k);
  }
  const taken = new Map<string, number>();
  return groups
    .sort((a, b) => b.runs.length - a.runs.length)
    .map(({ first, runs }) => {
      const base = nameOf(first);
      const count = (taken.get(base) ?? 0) + 1;
      taken.set(base, count);
      const shape = first === null ? null : middleOf(runs.map((k) => shapes[k]!));
      return { name: count === 1 ? base : `${base}-${count}`, shape, runs, apart: apartFrom(shape, runs, shapes) };
    });
}

function isAlike(one: CommandShape | null, other: CommandShape | null): boolean {
  if (one === null || other === null) return one === other;
  const near = (a: number, b: number): boolean => Math.abs(a - b) <= same * Math.max(Math.abs(a), Math.abs(b));
  if (one.shape === "circle" && other.shape === "circle")
    return one.plane === other.plane && near(one.radius, other.radius) && near(one.period, other.period);
  if (one.shape === "line" && other.shape === "line")
    return one.axis === other.axis && near(one.stroke, other.stroke) && near(one.period, other.period);
  if (one.shape === "logged" && other.shape === "logged") {
    const size = Math.max(...one.reach, ...other.reach);
    return one.reach.every((metres, axis) => Math.abs(metres - other.reach[axis]!) <= 3 * same * size);
  }
  return one.shape === other.shape;
}

function nameOf(shape: CommandShape | null): string {
  if (shape === null) return "flown";
  if (shape.shape === "circle") return `circle-${shape.plane}`;
  if (shape.shape === "line") return `line-${shape.axis}`;
  return shape.shape === "hold" ? "hold" : "track";
}

/** The run with the middle of its periods, and the commonest count of cycles; of holds the shortest. */
function middleOf(shapes: readonly CommandShape[]): CommandShape {
  const [first] = shapes;
  if (first!.shape === "hold")
    return {
      shape: "hold",
      duration: Math.min(...shapes.map((each) => (each.shape === "hold" ? each.duration : Infinity))),
    };
  const period = (shape: CommandShape): number => ("period" in shape ? (shape.period ?? 0) : 0);
  const middle = [...shapes].sort((a, b) => period(a) - period(b))[shapes.length >> 1]!;
  return "cycles" in middle
    ? { ...middle, cycles: commonest(shapes.flatMap((each) => ("cycles" in each ? [each.cycles] : []))) }
    : middle;
}

function commonest(values: readonly number[]): number {
  const counts = new Map<number, number>();
  for (const value of values) counts.set(value, (counts.get(value) ?? 0) + 1);
  return [...counts].sort((a, b) => b[1] - a[1] || b[0] - a[0])[0]![0];
}

function apartFrom(
  shape: CommandShape | null,
  runs: readonly number[],
  shapes: readonly (CommandShape | null)[],
): ReadonlyMap<number, string> {
  if (shape === null || !("cycles" in shape)) return new Map();
  return new Map(
    runs.flatMap((k) => {
      const own = shapes[k]!;
      if (!("cycles" in own) || own.cycles === shape.cycles) return [];
      return [[k, `${own.cycles} cycles commanded, ${shape.cycles} by the others`] as const];
    }),
  );
}
