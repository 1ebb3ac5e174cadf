import type { PointTrack, PoseTrack } from "../../foundation/tracks.ts";
import type { Quaternion, Vector3 } from "../../foundation/units.ts";
import { successiveDifferenceNoise } from "../../metrics/measurementNoise.ts";
import { median, quantile } from "../../numeric/descriptive.ts";
import { rotateVector } from "../../numeric/quaternion.ts";
import { lowerBound } from "../../numeric/sortedColumns.ts";

/** What the positions of one stream show, whatever it is called. */
export interface Traits {
  /** longest stretch without any change, seconds, and the share of messages that repeat the one before exactly */
  readonly held: number;
  readonly repeats: number;
  /** largest distance over the axes between the 2nd and the 98th percentile, metres: outliers move nothing */
  readonly reach: number;
  /** it moves by no more than the noise of a capture */
  readonly rests: boolean;
}

/** A body that moves by more does not rest, one that moves by less does, metres; between them its noise tells. */
const [moves, stands] = [0.01, 1e-3];
/** The 2nd and 98th percentile of noise lie 4.1 standard deviations apart; a hover is wider. */
const ofNoise = 8;

export function traitsOf({ t, x, y, z }: PointTrack): Traits {
  let repeated = 0;
  let held = 0;
  let since = t[0]!;
  for (let i = 1; i < t.length; i++) {
    if (x[i] === x[i - 1] && y[i] === y[i - 1] && z[i] === z[i - 1]) {
      repeated++;
      held = Math.max(held, t[i]! - since);
    } else since = t[i]!;
  }
  const reach = Math.max(...[x, y, z].map((column) => quantile(column, 0.98) - quantile(column, 0.02)));
  const noise = Math.max(...[x, y, z].map(successiveDifferenceNoise));
  const rests = reach < stands || (reach < moves && reach < ofNoise * noise);
  return { held, repeats: repeated / (t.length - 1), reach, rests };
}

/** A setpoint is flown to within this, metres; a body of another place in the room is further away. */
export const flownWithin = 0.5;

/** How many instants two streams are compared at. */
const instants = 400;

/** One stream seen from another at common instants: in the world, and in the other's body axes where it has an attitude. */
export interface Relation {
  readonly t: Float64Array;
  /** this minus the other, metres */
  readonly world: readonly [Float64Array, Float64Array, Float64Array];
  readonly body: readonly [Float64Array, Float64Array, Float64Array] | null;
  /** median of the distance, metres */
  readonly distance: number;
  /** largest distance less the smallest, 2nd to 98th percentile, metres */
  readonly play: number;
}

/** @returns null where they have hardly a time in common */
export function relationOf(one: PointTrack, other: PointTrack | PoseTrack): Relation | null {
  const from = Math.max(one.t[0]!, other.t[0]!);
  const to = Math.min(one.t.at(-1)!, other.t.at(-1)!);
  if (!(to - from > 1)) return null;
  const t = Float64Array.from({ length: instants }, (_, k) => from + ((k + 0.5) / instants) * (to - from));
  const columns = (): [Float64Array, Float64Array, Float64Array] =>
    [0, 1, 2].map(() => new Float64Array(instants)) as never;
  const world = columns();
  const turned = "qw" in other ? columns() : null;
  const distances = new Float64Array(instants);
  for (let k = 0; k < instants; k++) {
    const [a, b] = [positionAt(one, t[k]!), positionAt(other, t[k]!)];
    const apart: Vector3 = [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
    const seen = "qw" in other ? rotateVector(inverse(attitudeAt(other, t[k]!)), apart) : null;
    for (let axis = 0; axis < 3; axis++) {
      world[axis]![k] = apart[axis]!;
      if (seen !== null) turned![axis]![k] = seen[axis]!;
    }
    distances[k] = Math.hypot(...apart);
  }
  return {
    t,
    world,
    body: turned,
    distance: median(distances),
    play: quantile(distances, 0.98) - quantile(distances, 0.02),
  };
}

/** Linear between two messages; the nearest beyond them. */
export function positionAt({ t, x, y, z }: PointTrack, at: number): Vector3 {
  const after = Math.min(t.length - 1, Math.max(1, lowerBound(t, at)));
  const share = Math.min(1, Math.max(0, (at - t[after - 1]!) / (t[after]! - t[after - 1]!)));
  const between = (column: Float64Array): number => column[after - 1]! + share * (column[after]! - column[after - 1]!);
  return [between(x), between(y), between(z)];
}

/** Of unit length. */
export function attitudeAt({ t, qx, qy, qz, qw }: PoseTrack, at: number): Quaternion {
  const i = Math.min(t.length - 1, lowerBound(t, at));
  const size = Math.hypot(qx[i]!, qy[i]!, qz[i]!, qw[i]!);
  return size > 0 ? [qx[i]! / size, qy[i]! / size, qz[i]! / size, qw[i]! / size] : [0, 0, 0, 1];
}

function inverse([x, y, z, w]: Quaternion): Quaternion {
  return [-x, -y, -z, w];
}

/**
 * How much two motions have in common whatever lies between them: the correlation of their axes, weighted by how much each moves.
 *
 * @returns 1 where one is the other moved; 0 where nothing is in common or one of them rests
 */
export function likeness(
  one: readonly [Float64Array, Float64Array, Float64Array],
  other: readonly [Float64Array, Float64Array, Float64Array],
): number {
  let [product, first, second] = [0, 0, 0];
  for (let axis = 0; axis < 3; axis++) {
    const [a, b] = [one[axis]!, other[axis]!];
    const [middleA, middleB] = [average(a), average(b)];
    for (let k = 0; k < a.length; k++) {
      product += (a[k]! - middleA) * (b[k]! - middleB);
      first += (a[k]! - middleA) ** 2;
      second += (b[k]! - middleB) ** 2;
    }
  }
  return first > 0 && second > 0 ? product / Math.sqrt(first * second) : 0;
}

function average(values: Float64Array): number {
  let sum = 0;
  for (const value of values) sum += value;
  return sum / values.length;
}

/** A track's columns at given instants. */
export function columnsAt(track: PointTrack, t: Float64Array): [Float64Array, Float64Array, Float64Array] {
  const found = Array.from(t, (at) => positionAt(track, at));
  return [0, 1, 2].map((axis) => Float64Array.from(found, (place) => place[axis]!)) as never;
}
