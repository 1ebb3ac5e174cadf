import { choleskyFactor, solveCholesky } from "../../numeric/choleskyFactor.ts";

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
