import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { Quaternion, Vector3 } from "../../src/foundation/units.ts";
import {
  eulerFromQuaternion,
  multiplyQuaternions,
  quaternionFromEuler,
  rotateVector,
  rotationMatrix,
} from "../../src/numeric/quaternion.ts";
import { describeWith } from "../support/available.ts";
import { runPython } from "../support/run.ts";
import { randomQuaternions } from "./randomColumns.ts";
import { worstDifference } from "./relativeError.ts";

const degree = Math.PI / 180;
const aboutZ = (degrees: number): Quaternion => quaternionFromEuler(0, 0, degrees * degree);
const negative = (q: Quaternion): Quaternion => [-q[0], -q[1], -q[2], -q[3]];
/** 120 degrees about (1, 1, 1) */
const third: Quaternion = [0.5, 0.5, 0.5, 0.5];

describe("by hand", () => {
  test("i j = k: the Hamilton convention, x y z w", () => {
    expect([...multiplyQuaternions([1, 0, 0, 0], [0, 1, 0, 0])]).toEqual([0, 0, 1, 0]);
    expect([...multiplyQuaternions([0, 1, 0, 0], [0, 0, 1, 0])]).toEqual([1, 0, 0, 0]);
  });

  test("a quarter turn left takes the body's nose, x, to the parent's y", () => {
    expect(worstDifference(rotateVector(aboutZ(90), [1, 0, 0]), [0, 1, 0])).toBeLessThan(1e-15);
    expect([...rotateVector(third, [1, 2, 3])]).toEqual([3, 1, 2]);
    expect([...rotationMatrix(third)]).toEqual([0, 0, 1, 1, 0, 0, 0, 1, 0]);
  });

  test("nose straight up: roll is 0 and the attitude is kept", () => {
    for (const pitch of [Math.PI / 2, -Math.PI / 2]) {
      const q = quaternionFromEuler(0.3, pitch, 1.1);
      const angles = eulerFromQuaternion(q);
      expect(angles.roll).toBe(0);
      expect(Math.abs(angles.pitch - pitch)).toBeLessThan(1e-9);
      expect(worstDifference(quaternionFromEuler(angles.roll, angles.pitch, angles.yaw), q)).toBeLessThan(1e-9);
    }
  });
});

describeWith(["scipy"], "against scipy's Rotation on seeded random attitudes", () => {
  const p = randomQuaternions(31, 300);
  const q = randomQuaternions(32, 300);
  const vectors = p.map((one, i): Vector3 => [3 * one[0], q[i]![1] - 1, q[i]![3]]);
  interface Expected {
    product: number[][];
    turned: number[][];
    matrix: number[][];
    euler: number[][];
    fromEuler: number[][];
  }
  const program = `import json,sys,numpy as np
from scipy.spatial.transform import Rotation as R
d=json.load(sys.stdin); p=R.from_quat(d["p"]); q=R.from_quat(d["q"]); v=np.array(d["v"])
L=lambda a: np.asarray(a).tolist()
print(json.dumps({"product":L((p*q).as_quat()),"turned":L(p.apply(v)),"matrix":L(p.as_matrix().reshape(-1,9)),
"euler":L(p.as_euler("ZYX")[:,::-1]),"fromEuler":L(R.from_euler("ZYX",v[:,::-1]).as_quat())}))`;
  let kept: Expected | undefined;
  const expected = (): Expected => {
    kept ??= runPython<Expected>(program, { p, q, v: vectors });
    return kept;
  };
  /** the sign of a quaternion means nothing: the nearer of the two */
  const attitudeDifference = (found: Quaternion, wanted: readonly number[]): number =>
    Math.min(worstDifference(found, wanted), worstDifference(negative(found), wanted));
  // everything here is a dozen roundings of numbers of size 1 to 5
  const tolerance = 5e-15;

  test("product, rotation of vectors, matrix", () => {
    p.forEach((one, i) => {
      expect(attitudeDifference(multiplyQuaternions(one, q[i]!), expected().product[i]!)).toBeLessThan(tolerance);
      expect(worstDifference(rotateVector(one, vectors[i]!), expected().turned[i]!)).toBeLessThan(tolerance);
      expect(worstDifference(rotationMatrix(one), expected().matrix[i]!)).toBeLessThan(tolerance);
    });
  });

  test("roll, pitch and yaw there and back (intrinsic z-y'-x'')", () => {
    p.forEach((one, i) => {
      const { roll, pitch, yaw } = eulerFromQuaternion(one);
      // scipy takes an arc sine or cosine near a quarter turn of pitch, good to 1e-8 / the distance from it
      expect(worstDifference([roll, pitch, yaw], expected().euler[i]!)).toBeLessThan(1e-12);
      const [a, b, c] = vectors[i]!;
      expect(attitudeDifference(quaternionFromEuler(a, b, c), expected().fromEuler[i]!)).toBeLessThan(tolerance);
    });
  });
});

test("q and -q are one rotation, and a conjugate undoes it", () => {
  const part = fc.double({ min: -1, max: 1, noNaN: true });
  fc.assert(
    fc.property(fc.tuple(part, part, part, part), fc.tuple(part, part, part), (raw, v) => {
      fc.pre(Math.hypot(...raw) > 1e-3);
      const length = Math.hypot(...raw);
      const q = raw.map((value) => value / length) as [number, number, number, number];
      const conjugate: Quaternion = [-q[0], -q[1], -q[2], q[3]];
      expect(worstDifference(rotateVector(negative(q), v), rotateVector(q, v))).toBe(0);
      expect(worstDifference(rotateVector(conjugate, rotateVector(q, v)), v)).toBeLessThan(4e-15);
    }),
    { seed: 7, numRuns: 200 },
  );
});
