import { type BenchChannel, type BenchSensor, benchChannels } from "../contract/benchDeclaration.ts";
import type { Vector3 } from "../foundation/units.ts";
import { rotationMatrix } from "../numeric/quaternion.ts";

/** Six columns of n readings, newtons and newton metres. */
export type WrenchColumns = Readonly<Record<BenchChannel, Float64Array>>;

/** One wrench. */
export interface Wrench {
  readonly force: Vector3;
  readonly moment: Vector3;
}

/** Vector product a x b. */
export function cross(a: Vector3, b: Vector3): Vector3 {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}

export const plus = (a: Vector3, b: Vector3): Vector3 => [a[0] + b[0], a[1] + b[1], a[2] + b[2]];
export const minus = (a: Vector3, b: Vector3): Vector3 => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];

/**
 * A wrench about another point: the force stays, the moment gains r x F.
 *
 *   M_P = M_A + (A - P) x F
 *
 * @param from  the point that the moment was about, metres
 * @param to    the point that it is to be about, same axes
 * @source statics: J. L. Meriam, L. G. Kraige, Engineering Mechanics: Statics, art. 2/9 (from memory)
 * @example aboutPoint({ force: [0.5, 0, -10], moment: [0, 0.2, 0] }, [0, 0, 0.085], [0, 0, 0]).moment // => 0, 0.2425, 0
 */
export function aboutPoint({ force, moment }: Wrench, from: Vector3, to: Vector3): Wrench {
  return { force, moment: plus(moment, cross(minus(from, to), force)) };
}

/**
 * The wrench that the arm exerts on its base, in the axes of the arm base, about a stated point.
 *
 *   F = s R f,   M = s R m + r x F,   s = -1 where the sensor shows what acts on the arm, r from the point to the sensor
 *
 * Gravity stays in it: what balancing takes away is mostly the moving moment of gravity, so only constants and drift are tared.
 *
 * @param wrench  as logged: sensor axes, about the sensor's measuring origin, SI
 * @param point   in the arm base, metres
 * @returns new columns
 */
export function exertedByArm(
  wrench: WrenchColumns,
  { at, sign }: Pick<BenchSensor, "at" | "sign">,
  point: Vector3,
): WrenchColumns {
  const s = sign === "on_sensor" ? 1 : -1;
  const R = rotationMatrix(at.rotation).map((value) => s * value);
  const [rx, ry, rz] = minus(at.translation, point);
  const n = wrench.fx.length;
  const out = Object.fromEntries(benchChannels.map((name) => [name, new Float64Array(n)])) as Record<
    BenchChannel,
    Float64Array
  >;
  const { fx, fy, fz, mx, my, mz } = wrench;
  for (let i = 0; i < n; i++) {
    const [a, b, c] = [fx[i]!, fy[i]!, fz[i]!];
    const [d, e, f] = [mx[i]!, my[i]!, mz[i]!];
    const x = R[0]! * a + R[1]! * b + R[2]! * c;
    const y = R[3]! * a + R[4]! * b + R[5]! * c;
    const z = R[6]! * a + R[7]! * b + R[8]! * c;
    out.fx[i] = x;
    out.fy[i] = y;
    out.fz[i] = z;
    out.mx[i] = R[0]! * d + R[1]! * e + R[2]! * f + ry * z - rz * y;
    out.my[i] = R[3]! * d + R[4]! * e + R[5]! * f + rz * x - rx * z;
    out.mz[i] = R[6]! * d + R[7]! * e + R[8]! * f + rx * y - ry * x;
  }
  return out;
}
