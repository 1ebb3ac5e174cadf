import {
  type Body,
  byNames,
  clearlyNearer,
  clearOne,
  isArms,
  isEstimate,
  movesAlike,
  rests,
  turnsAlike,
} from "./bodies.ts";
import type { Stream } from "./streams.ts";
import { columnsAt, flownWithin, likeness, relationOf, traitsOf } from "./traits.ts";

/** Of bodies that turn as the gyro says, one that turns less so by this much is another. */
const turnsLess = 0.15;

interface FoundVehicle {
  readonly vehicle: Body | null;
  readonly setpoint: Stream | null;
  /** what nothing distinguished */
  readonly bodiesAsked: readonly Stream[];
  readonly setpointsAsked: readonly Stream[];
  /** other topics that say the same setpoint */
  readonly twins: readonly Stream[];
}

/** The body that turns as the gyro says, moves, and flies a setpoint; and that setpoint. */
export function findVehicle(bodies: readonly Body[], commands: readonly Stream[]): FoundVehicle {
  const independent = bodies.filter(({ stream }) => !isEstimate(stream.candidate));
  const moving = independent.filter((body) => !rests(body));
  let left = moving.length > 0 ? moving : independent;
  const best = Math.max(0, ...left.map(({ gyro }) => gyro?.share ?? 0));
  if (best >= turnsAlike) left = left.filter(({ gyro }) => (gyro?.share ?? 0) >= best - turnsLess);
  const pairs = pairsOf(left.length > 0 ? left : independent, commands);
  const setpoints = byNames("vehicle_setpoint", commands);
  if (pairs.length === 0) {
    const byName = clearOne(
      "vehicle_pose",
      left.map(({ stream }) => stream),
    );
    const vehicle = left.length === 1 ? left[0]! : (left.find(({ stream }) => stream === byName) ?? null);
    const setpoint =
      setpoints.length === 1 && !isArms(setpoints[0]!) ? setpoints[0]! : clearOne("vehicle_setpoint", setpoints);
    return {
      vehicle,
      setpoint,
      bodiesAsked: vehicle === null ? left.map(({ stream }) => stream) : [],
      setpointsAsked: setpoint === null ? setpoints : [],
      twins: [],
    };
  }
  const { body, command } = flownPair(pairs);
  const nearest = pairs.filter((pair) => pair.command === command);
  const near = nearest.filter(
    ({ distance }) => distance <= Math.max(2 * nearest[0]!.distance, nearest[0]!.distance + clearlyNearer),
  );
  const named =
    near.length === 1
      ? near[0]!.body.stream
      : clearOne(
          "vehicle_pose",
          near.map((pair) => pair.body.stream),
        );
  const vehicle = named === null ? null : (near.find((pair) => pair.body.stream === named)?.body ?? body);
  const same = byNames("vehicle_setpoint", [
    ...new Set(pairs.filter((pair) => pair.body === (vehicle ?? body)).map((pair) => pair.command)),
  ]);
  const twins = same.filter((stream) => !isArms(stream));
  return {
    vehicle,
    setpoint: twins[0] ?? command,
    bodiesAsked: vehicle === null ? near.map((pair) => pair.body.stream) : [],
    setpointsAsked: [],
    twins: twins.slice(1),
  };
}

interface Pair {
  readonly body: Body;
  readonly command: Stream;
  readonly distance: number;
}

/** Bodies and the commands that they are near, the nearest first. */
function pairsOf(bodies: readonly Body[], commands: readonly Stream[]): Pair[] {
  return bodies
    .flatMap((body) =>
      commands.flatMap((command): Pair[] => {
        const distance = relationOf(body.point, command.point!)?.distance ?? Number.POSITIVE_INFINITY;
        return distance <= flownWithin ? [{ body, command, distance }] : [];
      }),
    )
    .sort((a, b) => a.distance - b.distance);
}

/**
 * Of pairs of bodies and commands the one that is the vehicle's: where a tool is commanded in the world as well, that of which
 * no name speaks of an arm, else the one whose command moves less.
 */
function flownPair(pairs: readonly Pair[]): Pair {
  const ofEach = new Map<Body, Pair>();
  for (const pair of pairs)
    if (!ofEach.has(pair.body) && ![...ofEach.values()].some(({ command }) => command === pair.command))
      ofEach.set(pair.body, pair);
  const all = [...ofEach.values()];
  const free = all.filter(({ body, command }) => !isArms(body.stream) && !isArms(command));
  const left = free.length > 0 ? free : all;
  const reach = ({ command }: Pair): number => traitsOf(command.point!).reach;
  return [...left].sort((a, b) => reach(a) - reach(b) || a.distance - b.distance)[0]!;
}

/**
 * The vehicle's own reckoning of the same motion, on its own clock. A filter of the capture's host shows the capture's clock, and
 * would confirm any offset.
 *
 * @param like  bodies of which one is the vehicle
 */
export function findEstimate(like: readonly Body[], bodies: readonly Body[], onboard: Stream | null): Body | null {
  const clock = onboard?.candidate.clock ?? null;
  const own = bodies.filter(({ stream, point, traits }) => {
    const { candidate } = stream;
    if (!isEstimate(candidate) || traits.rests) return false;
    const isCaptures = like.some((body) => body.stream.candidate.clock === candidate.clock);
    if (candidate.clock !== null && isCaptures && clock !== null && clock !== candidate.clock) return false;
    return like.every((body) => {
      if (body.stream.candidate.down !== candidate.down) return true;
      const relation = relationOf(point, body.point);
      if (relation === null) return true;
      return likeness(columnsAt(point, relation.t), columnsAt(body.point, relation.t)) > movesAlike;
    });
  });
  const [first] = byNames(
    "vehicle_estimate",
    own.map(({ stream }) => stream),
  );
  return own.find(({ stream }) => stream === first) ?? null;
}
