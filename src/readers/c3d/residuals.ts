import { rotationMatrix } from "../../numeric/quaternion/rotationMatrix.ts";
import type { RigidFit } from "../../numeric/rigidFit.ts";

/**
 * Where markers were measured less where they are declared, in the body's frame, metres: x y z of each. Noise of n markers has
 * 3 n - 6 freedoms there.
 *
 * @param out  what is written to, as long as `body` or longer: a run has many frames
 */
export function residuals(
  body: Float64Array,
  measured: Float64Array,
  { rotation, translation }: RigidFit,
  out: Float64Array,
): void {
  const [x, y, z] = translation;
  const r = rotationMatrix(rotation);
  for (let i = 0; i < body.length; i += 3) {
    const [a, b, c] = [measured[i]! - x, measured[i + 1]! - y, measured[i + 2]! - z];
    for (let axis = 0; axis < 3; axis++)
      out[i + axis] = r[axis]! * a + r[3 + axis]! * b + r[6 + axis]! * c - body[i + axis]!;
  }
}

/**
 * Noise of a coordinate by the residuals of two frames, whose difference holds its square twice.
 *
 * @param markers  how many of them the frames hold
 * @source J. von Neumann, Ann. Math. Stat. 12 (1941) 367-395
 */
export function differenceNoise(before: Float64Array, now: Float64Array, markers: number): number {
  let squares = 0;
  for (let i = 0; i < 3 * markers; i++) squares += (now[i]! - before[i]!) ** 2;
  return Math.sqrt(squares / (2 * (3 * markers - 6)));
}
