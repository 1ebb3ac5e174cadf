import type { AlignedRun } from "../alignment/alignRun.ts";
import { meanPlace } from "../alignment/clock/bodiesApart.ts";
import { pointOnBody } from "../alignment/frames.ts";
import { sampleAttitudes, samplePoints } from "../alignment/sampleTrack.ts";
import { axes, type PointTrack, type PoseTrack, type Window } from "../foundation/tracks.ts";
import type { Vector3 } from "../foundation/units.ts";
import { mean, sampleStandardDeviation } from "../numeric/descriptive.ts";
import { fitLine } from "../numeric/leastSquares.ts";
import { multiplyQuaternions } from "../numeric/quaternion.ts";
import { lowerBound } from "../numeric/sortedColumns.ts";

/** How large and how turned the capture shows an arm, of which a length is rigid and a path was commanded. */
export interface ArmSeen {
  /** from the vehicle's markers to the tool's while the arm rests, metres */
  readonly reach: number;
  /** size (rms about the mean) of the arm's measured path over that of its command */
  readonly gain: number;
  /** where the tool's markers are, seen from the vehicle's in its own frame, while the arm rests, metres */
  readonly place: Vector3;
  /** mean turn of the vehicle from its setpoint while the arm rests, along the axes of the errors, radians; null without a setpoint */
  readonly turn: Vector3 | null;
  /** from the vehicle's markers to the tool's over the cycles, along those axes: mean products of its three parts, row by row, square metres */
  readonly products: readonly number[];
  /** while the arm rests: by how much the tool moves where the vehicle's pose carries it by 1, per axis; null where that rests too */
  readonly follows: readonly (number | null)[];
}

/** An arm commanded to move by less than this (rms) has no size to compare, metres. */
const leastMotion = 0.005;

/** A vehicle that wanders by less than this (sd) in the hold shows no share of it: a noise of 0.3 mm takes a tenth off the slope. */
const leastWander = 0.001;

/**
 * Size and place in the vehicle's own frame, where neither its motion nor its tilt enters: those the counterweights change.
 *
 * @returns null without a hold, a tool, a measured attitude, or an arm that is commanded to move
 */
export function armSeen({ hold, cycles, vehicle, setpoint, bodies, subjects: { arm } }: AlignedRun): ArmSeen | null {
  if (hold === null || vehicle === null || !bodies.effector || !arm || cycles.length === 0) return null;
  const place = meanPlace(vehicle, bodies.effector, hold);
  if (place === null) return null;
  const [a, b] = [lowerBound(arm.t, cycles[0]![0]), lowerBound(arm.t, cycles.at(-1)![1])];
  const asked = samplePoints(arm.command, arm.t.subarray(a, b));
  const { x, y, z } = arm.measured;
  const commanded = sizeOf([asked.x, asked.y, asked.z]);
  if (!(commanded > leastMotion)) return null;
  return {
    reach: Math.hypot(...place),
    gain: sizeOf([x, y, z].map((column) => column.subarray(a, b))) / commanded,
    place,
    turn: setpoint && meanTurn(vehicle, setpoint, hold),
    products: productsOf(vehicle, bodies.effector, [cycles[0]![0], cycles.at(-1)![1]]),
    follows: followsOf(pointOnBody(vehicle, place), bodies.effector, hold),
  };
}

/** Rotation vector of the commanded to the measured attitude, averaged: right to a tenth for half a radian. */
function meanTurn(vehicle: PoseTrack, setpoint: PoseTrack, [from, to]: Window): Vector3 | null {
  const [a, b] = [lowerBound(vehicle.t, from), lowerBound(vehicle.t, to)];
  const asked = sampleAttitudes(setpoint, vehicle.t.subarray(a, b));
  const sum = [0, 0, 0];
  let n = 0;
  for (let i = a; i < b; i++) {
    const k = i - a;
    if (!Number.isFinite(asked.qw[k]!) || !Number.isFinite(vehicle.qw[i]!)) continue;
    const [x, y, z, w] = multiplyQuaternions(
      [vehicle.qx[i]!, vehicle.qy[i]!, vehicle.qz[i]!, vehicle.qw[i]!],
      [-asked.qx[k]!, -asked.qy[k]!, -asked.qz[k]!, asked.qw[k]!],
    );
    [x, y, z].forEach((part, axis) => {
      sum[axis]! += 2 * Math.sign(w) * part;
    });
    n++;
  }
  return n < 10 ? null : [sum[0]! / n, sum[1]! / n, sum[2]! / n];
}

function productsOf(vehicle: PoseTrack, tool: PointTrack, [from, to]: Window): number[] {
  const [a, b] = [lowerBound(vehicle.t, from), lowerBound(vehicle.t, to)];
  const at = samplePoints(tool, vehicle.t.subarray(a, b));
  const away = axes.map((axis) => at[axis].map((value, k) => value - vehicle[axis][a + k]!));
  return away.flatMap((one) => away.map((other) => mean(one.map((v, k) => v * other[k]!).filter(Number.isFinite))));
}

/** Slope of the tool's place on that of the point of the vehicle which carries it. */
function followsOf(carried: PointTrack, tool: PointTrack, [from, to]: Window): (number | null)[] {
  const within = carried.t.subarray(lowerBound(carried.t, from), lowerBound(carried.t, to));
  const [at, own] = [samplePoints(carried, within), samplePoints(tool, within)];
  return axes.map((axis) => {
    const both = [...within.keys()].filter((k) => Number.isFinite(at[axis][k]!) && Number.isFinite(own[axis][k]!));
    if (both.length < 100) return null;
    const [x, y] = [at, own].map((points) => Float64Array.from(both, (k) => points[axis][k]!)) as [
      Float64Array,
      Float64Array,
    ];
    return sampleStandardDeviation(x) < leastWander ? null : fitLine(x, y).slope;
  });
}

/** Root of the mean squared distance of points from their mean place, metres. */
function sizeOf(columns: readonly Float64Array[]): number {
  const squares = columns.map((column) => {
    const known = column.filter(Number.isFinite);
    const centre = mean(known);
    return known.reduce((sum, value) => sum + (value - centre) ** 2, 0) / known.length;
  });
  return Math.sqrt(squares.reduce((sum, one) => sum + one, 0));
}
