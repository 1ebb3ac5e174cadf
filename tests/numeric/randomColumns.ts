import { seededRandom } from "../../src/numeric/seededRandom.ts";

/** n numbers about `centre` with the given spread, decided by the seed; only an input, never an expectation. */
export function normalColumn(seed: number, n: number, centre = 0, spread = 1): Float64Array {
  const random = seededRandom(seed);
  return Float64Array.from({ length: n }, () => centre + spread * random.normal());
}

/** Attitudes all over the sphere, x y z w, unit norm, both signs. */
export function randomQuaternions(seed: number, n: number): [number, number, number, number][] {
  const random = seededRandom(seed);
  return Array.from({ length: n }, () => {
    const q = [random.normal(), random.normal(), random.normal(), random.normal()];
    const size = Math.hypot(...q);
    return q.map((part) => part / size) as [number, number, number, number];
  });
}
