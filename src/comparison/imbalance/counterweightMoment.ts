import type { Configuration } from "../../contract/campaign.ts";
import type { Vector3 } from "../../foundation/units.ts";
import { choleskyFactor, solveCholesky } from "../../numeric/symmetricMatrix.ts";

/**
 * Moment of a configuration's counterweights: sum of mass x place, in the counterweights' own frame; of one that was moved, of
 * the way that it was moved.
 *
 * Without declared counterweights it is zero where nothing was added (the arm alone), and for the baseline, from which all
 * else is counted. Mass that was added without saying where (a sham, for instance) has no known moment.
 *
 * @returns kg m; null where it is not known
 */
export function counterweightMoment(configuration: Configuration, isBaseline: boolean): Vector3 | null {
  const { counterweights, addedMass } = configuration;
  if (counterweights.length === 0) return isBaseline || addedMass === null || addedMass === 0 ? [0, 0, 0] : null;
  const moment: [number, number, number] = [0, 0, 0];
  for (const { mass, at, movedFrom = [0, 0, 0] } of counterweights)
    for (const i of [0, 1, 2] as const) moment[i] += mass * (at[i] - movedFrom[i]!);
  return moment;
}

/**
 * Directions in which moments differ: the first from the first moment to the second, further ones at right angles to those
 * before, each to the moment that lies furthest off (Gram-Schmidt with pivots).
 *
 * @param moments    kg m: the baseline's, the candidate's, then the others'
 * @param leastShare what lies off the directions by less than this share of the largest moment is not distinguished
 * @returns unit vectors at right angles to one another, none to three
 * @example imbalanceDirections([[0, 0, 0], [0.03, 0.04, 0]], 0.05) // => [[0.6, 0.8, 0]]
 */
export function imbalanceDirections(moments: readonly Vector3[], leastShare: number): Vector3[] {
  const [origin, second] = moments;
  if (origin === undefined || second === undefined) return [];
  const least = leastShare * Math.max(...moments.map(lengthOf));
  const directions: Vector3[] = [];
  const rest = moments.slice(1).map((moment) => minus(moment, origin, 1));
  // the candidate first, wherever it differs: its direction is the one that people ask about
  let next: Vector3 | undefined = lengthOf(rest[0]!) > least ? rest[0] : furthest(rest);
  while (next !== undefined && lengthOf(next) > least && directions.length < 3) {
    const length = lengthOf(next);
    const unit: Vector3 = [next[0] / length, next[1] / length, next[2] / length];
    directions.push(unit);
    // twice is enough for right angles to the last digit
    for (const [i, vector] of rest.entries()) rest[i] = without(without(vector, unit), unit);
    next = furthest(rest);
  }
  return directions;
}

/** Coordinates of a moment along the directions, counted from the origin. */
export function placeAlong(directions: readonly Vector3[], moment: Vector3, origin: Vector3): Float64Array {
  return Float64Array.from(directions, (direction) => dot(direction, minus(moment, origin, 1)));
}

function furthest(vectors: readonly Vector3[]): Vector3 | undefined {
  return [...vectors].sort((a, b) => lengthOf(b) - lengthOf(a))[0];
}

function without(vector: Vector3, unit: Vector3): Vector3 {
  return minus(vector, unit, dot(vector, unit));
}

function minus(a: Vector3, b: Vector3, factor: number): Vector3 {
  return [a[0] - factor * b[0], a[1] - factor * b[1], a[2] - factor * b[2]];
}

function dot(a: Vector3, b: Vector3): number {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

function lengthOf(vector: Vector3): number {
  return Math.hypot(...vector);
}

/** a corner counts as flat, and a place as outside, beyond this part */
const rounding = 1e-9;

/**
 * Whether a place lies within the hull of the places flown: between two of them, in a triangle of three, in a tetrahedron of
 * four (Carathéodory: every point of a hull lies in one of these).
 *
 * @param places  coordinates along the directions, one to three, in which the places differ
 */
export function withinHull(places: readonly Float64Array[], place: Float64Array): boolean {
  return cornersOf(places, place.length + 1).some((corners) => withinSimplex(corners, place));
}

/** Barycentric coordinates, by least squares on the edges from the first corner. */
function withinSimplex(corners: readonly Float64Array[], place: Float64Array): boolean {
  const first = corners[0]!;
  const edges = corners.slice(1).map((corner) => corner.map((value, j) => value - first[j]!));
  const size = edges.length;
  const dot = (a: Float64Array, b: Float64Array): number => a.reduce((sum, value, j) => sum + value * b[j]!, 0);
  const products = Float64Array.from({ length: size * size }, (_, i) =>
    dot(edges[Math.floor(i / size)]!, edges[i % size]!),
  );
  const lower = choleskyFactor(products, size, rounding);
  if (lower === null) return false;
  const off = place.map((value, j) => value - first[j]!);
  const shares = solveCholesky(
    lower,
    Float64Array.from(edges, (edge) => dot(edge, off)),
  );
  const rest = 1 - shares.reduce((sum, share) => sum + share, 0);
  return [...shares, rest].every((share) => share >= -rounding);
}

/** All choices of `count` of the places. */
function cornersOf(places: readonly Float64Array[], count: number): Float64Array[][] {
  if (count === 0) return [[]];
  return places.flatMap((place, i) => cornersOf(places.slice(i + 1), count - 1).map((others) => [place, ...others]));
}
