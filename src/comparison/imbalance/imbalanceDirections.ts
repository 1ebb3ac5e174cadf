import type { Vector3 } from "../../foundation/units.ts";

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
