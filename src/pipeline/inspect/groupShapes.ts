import type { CommandShape } from "../../contract/inspection.ts";
import { type Body, clearlyNearer, clearOne, isArms, movesAlike, rests } from "./bodies.ts";
import type { Stream } from "./streams.ts";
import { columnsAt, likeness, type Relation, relationOf } from "./traits.ts";

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

/** What hangs on the vehicle keeps its distance to this, metres; nor is it further off than an arm is long. */
const [armPlay, armLength] = [0.6, 2];

interface Arm {
  readonly effector: Body | null;
  readonly command: Stream | null;
  readonly frame: "world" | "vehicle" | "arm_base" | null;
  readonly remarks: readonly string[];
  /** where the command seems to count from on the vehicle, but for the tool point; null where it counts from elsewhere */
  readonly base: string | null;
}

/** What hangs on the vehicle, and what moves it. */
export function findArm(
  vehicle: Body | null,
  others: readonly Body[],
  commands: readonly Stream[],
  setpoint: Stream | null,
): Arm {
  const asked = commands.filter((command) => {
    // another topic of the vehicle's own setpoint is never the arm's
    const apart = setpoint === null ? null : relationOf(command.point!, setpoint.point!);
    return apart === null || apart.distance > clearlyNearer || isArms(command);
  });
  const hanging = others.flatMap((body) => {
    const relation = vehicle === null ? null : relationOf(body.point, vehicle.stream.pose ?? vehicle.point);
    const hangs = relation !== null && relation.play < armPlay && relation.distance < armLength;
    return hangs && !rests(body) ? [{ body, relation }] : [];
  });
  const matches = hanging
    .flatMap(({ body, relation }) =>
      asked.map((command) => ({ body, relation, command, ...matchOf(body, relation, command) })),
    )
    .sort((a, b) => b.share - a.share);
  const [best] = matches;
  if (best !== undefined && best.share >= movesAlike) {
    const stated = frameOf(best.command, best.body, best.relation);
    return { effector: best.body, command: best.command, ...stated };
  }
  const named = hanging.filter(({ body }) => isArms(body.stream));
  const effector = named.length === 1 ? named[0]!.body : null;
  const command = clearOne("effector_command", asked.filter(isArms));
  return { effector, command, frame: null, remarks: [frameWords], base: null };
}

/** Beside a frame that nothing tells. */
export const frameWords = "frame: world, vehicle or arm_base";

/** How alike a body's motion and a command are: seen from the vehicle, or in the world. */
function matchOf(body: Body, relation: Relation, command: Stream): { readonly share: number } {
  const asked = columnsAt(command.point!, relation.t);
  const seen = relation.body === null ? 0 : likeness(relation.body, asked);
  return { share: Math.max(seen, likeness(columnsAt(body.point, relation.t), asked)) };
}

/** A command near the tool in the room is one in the room; one far from it counts from the vehicle, or from the arm's base on it. */
function frameOf(command: Stream, body: Body, relation: Relation): Omit<Arm, "effector" | "command"> {
  const inWorld = relationOf(body.point, command.point!)?.distance ?? Number.POSITIVE_INFINITY;
  if (inWorld < 0.3) return { frame: "world", remarks: ["the tool is where the command is, in the room"], base: null };
  if (relation.body === null) return { frame: null, remarks: [frameWords], base: null };
  const asked = columnsAt(command.point!, relation.t);
  const middle = relation.body.map((column, axis) => medianOf(column.map((value, k) => value - asked[axis]![k]!)));
  const place = `[${middle.map((metres) => `${Math.round(1e3 * metres)} mm`).join(", ")}]`;
  // within the length of a tool that its markers may stand off by
  if (Math.hypot(...middle) < 0.06)
    return {
      frame: null,
      remarks: [`${frameWords}; the tool's markers are at ${place} from the command, as seen from the vehicle`],
      base: null,
    };
  return {
    frame: "arm_base",
    remarks: ["counted from a place on the vehicle, as the tool's markers show"],
    base: place,
  };
}

function medianOf(values: Float64Array): number {
  return [...values].sort((a, b) => a - b)[values.length >> 1]!;
}
