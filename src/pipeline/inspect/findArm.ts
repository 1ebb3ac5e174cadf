import { type Body, clearlyNearer, clearOne, isArms, movesAlike, rests } from "./bodies.ts";
import type { Stream } from "./streams.ts";
import { columnsAt, likeness, type Relation, relationOf } from "./traits.ts";

/** What hangs on the vehicle keeps its distance to this, metres; nor is it further off than an arm is long. */
const [armPlay, armLength] = [0.6, 2];

interface Arm {
  readonly effector: Body | null;
  readonly command: Stream | null;
  readonly frame: "world" | "vehicle" | "arm_base" | null;
  readonly remarks: readonly string[];
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
    return { effector: best.body, command: best.command, frame: stated.frame, remarks: stated.remarks };
  }
  const named = hanging.filter(({ body }) => isArms(body.stream));
  const effector = named.length === 1 ? named[0]!.body : null;
  const command = clearOne("effector_command", asked.filter(isArms));
  return { effector, command, frame: null, remarks: [frameWords] };
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
function frameOf(command: Stream, body: Body, relation: Relation): Pick<Arm, "frame" | "remarks"> {
  const inWorld = relationOf(body.point, command.point!)?.distance ?? Number.POSITIVE_INFINITY;
  if (inWorld < 0.3) return { frame: "world", remarks: ["the tool is where the command is, in the room"] };
  if (relation.body === null) return { frame: null, remarks: [frameWords] };
  const asked = columnsAt(command.point!, relation.t);
  const middle = relation.body.map((column, axis) => medianOf(column.map((value, k) => value - asked[axis]![k]!)));
  const place = `[${middle.map((metres) => `${Math.round(1e3 * metres)} mm`).join(", ")}]`;
  // within the length of a tool that its markers may stand off by
  if (Math.hypot(...middle) < 0.06)
    return {
      frame: null,
      remarks: [`${frameWords}; the tool's markers are at ${place} from the command, as seen from the vehicle`],
    };
  return {
    frame: "arm_base",
    remarks: [
      `counted from ${place} of the vehicle, as the tool's markers show: arm_base is there, moved by tool_point`,
    ],
  };
}

function medianOf(values: Float64Array): number {
  return [...values].sort((a, b) => a - b)[values.length >> 1]!;
}
