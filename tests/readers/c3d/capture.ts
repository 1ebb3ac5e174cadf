import type { Vector3 } from "../../../src/foundation/units.ts";
import { rotateVector } from "../../../src/numeric/quaternion.ts";
import { seededRandom } from "../../../src/numeric/seededRandom.ts";

/** Four markers on the airframe, metres in its own frame. */
export const markers: Readonly<Record<string, Vector3>> = {
  F1: [0.12, 0, 0.02],
  F2: [-0.08, 0.1, 0],
  F3: [-0.08, -0.1, 0.01],
  F4: [0, 0, 0.06],
};
export const labels = Object.keys(markers);

/** A slow climb with a swinging attitude, 100 Hz. */
export function truth(k: number): { q: [number, number, number, number]; p: Vector3 } {
  const angle = 0.3 * Math.sin(k / 20);
  return {
    q: [0.6 * Math.sin(angle / 2), 0, 0.8 * Math.sin(angle / 2), Math.cos(angle / 2)],
    p: [0.1 * Math.cos(k / 15), 0.002 * k, 1 + 0.001 * k],
  };
}

/** A point of a frame: x y z in millimetres and the residual. */
export type Point = [number, number, number, number];

/**
 * The markers in each frame, millimetres.
 *
 * @param noise  sd of each coordinate, metres
 */
export function capture(count: number, noise = 0, residual = 0.05, places = markers): Point[][] {
  const random = seededRandom(641);
  return Array.from({ length: count }, (_, k) => {
    const { q, p } = truth(k);
    return Object.values(places).map((place): Point => {
      const turned = rotateVector(q, place);
      const [x, y, z] = turned.map((value, axis) => 1000 * (value + p[axis]! + noise * random.normal()));
      return [x!, y!, z!, residual];
    });
  });
}
