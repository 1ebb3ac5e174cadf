import type { Quaternion, Vector3 } from "../../foundation/units.ts";
import { rotateVectorInverse } from "../../numeric/quaternion/rotateVectorInverse.ts";

/**
 * Where markers were measured less where they are declared, in the body's frame, metres: x y z of each. Noise of n markers has
 * 3 n - 6 freedoms there.
 *
 * @param measured  may be longer than `body`
 */
export function residuals(
  body: Float64Array,
  measured: Float64Array,
  rotation: Quaternion,
  [x, y, z]: Vector3,
): Float64Array<ArrayBuffer> {
  const out = new Float64Array(body.length);
  for (let i = 0; i < body.length; i += 3) {
    const place = rotateVectorInverse(rotation, [measured[i]! - x, measured[i + 1]! - y, measured[i + 2]! - z]);
    for (let axis = 0; axis < 3; axis++) out[i + axis] = place[axis]! - body[i + axis]!;
  }
  return out;
}

/**
 * Noise of a coordinate by the residuals of two frames, whose difference holds its square twice.
 *
 * @source J. von Neumann, Ann. Math. Stat. 12 (1941) 367-395
 */
export function differenceNoise(before: Float64Array, now: Float64Array, freedom: number): number {
  let squares = 0;
  for (let i = 0; i < now.length; i++) squares += (now[i]! - before[i]!) ** 2;
  return Math.sqrt(squares / (2 * freedom));
}
