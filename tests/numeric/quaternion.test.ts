import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { CounterpoiseError, TooFewSamplesError } from "../../src/foundation/errors.ts";
import type { Quaternion, Vector3 } from "../../src/foundation/units.ts";
import { angularDistance } from "../../src/numeric/quaternion/angularDistance.ts";
import { conjugateQuaternion } from "../../src/numeric/quaternion/conjugateQuaternion.ts";
import { continuousSigns } from "../../src/numeric/quaternion/continuousSigns.ts";
import { eulerFromQuaternion } from "../../src/numeric/quaternion/eulerFromQuaternion.ts";
import { meanQuaternion } from "../../src/numeric/quaternion/meanQuaternion.ts";
import { multiplyQuaternions } from "../../src/numeric/quaternion/multiplyQuaternions.ts";
import { normalizeQuaternion } from "../../src/numeric/quaternion/normalizeQuaternion.ts";
import { quaternionFromEuler } from "../../src/numeric/quaternion/quaternionFromEuler.ts";
import { quaternionFromRotationVector } from "../../src/numeric/quaternion/quaternionFromRotationVector.ts";
import { rotateVector } from "../../src/numeric/quaternion/rotateVector.ts";
import { rotateVectorInverse } from "../../src/numeric/quaternion/rotateVectorInverse.ts";
import { rotationMatrix } from "../../src/numeric/quaternion/rotationMatrix.ts";
import { rotationVector } from "../../src/numeric/quaternion/rotationVector.ts";
import { slerp } from "../../src/numeric/quaternion/slerp.ts";
import { describeWith } from "../support/available.ts";
import { runPython } from "../support/run.ts";
import { randomQuaternions } from "./randomColumns.ts";
import { worstDifference } from "./relativeError.ts";

const degree = Math.PI / 180;
const aboutZ = (degrees: number): Quaternion => quaternionFromEuler(0, 0, degrees * degree);
const negative = (q: Quaternion): Quaternion => [-q[0], -q[1], -q[2], -q[3]];
const identity: Quaternion = [0, 0, 0, 1];
/** 120 degrees about (1, 1, 1) */
const third: Quaternion = [0.5, 0.5, 0.5, 0.5];

describe("by hand", () => {
  test("i j = k: the Hamilton convention, x y z w", () => {
    expect([...multiplyQuaternions([1, 0, 0, 0], [0, 1, 0, 0])]).toEqual([0, 0, 1, 0]);
    expect([...multiplyQuaternions([0, 1, 0, 0], [0, 0, 1, 0])]).toEqual([1, 0, 0, 0]);
  });

  test("a quarter turn left takes the body's nose, x, to the parent's y", () => {
    expect(worstDifference(rotateVector(aboutZ(90), [1, 0, 0]), [0, 1, 0])).toBeLessThan(1e-15);
    expect(worstDifference(rotateVectorInverse(aboutZ(90), [0, 1, 0]), [1, 0, 0])).toBeLessThan(1e-15);
    expect([...rotateVector(third, [1, 2, 3])]).toEqual([3, 1, 2]);
    expect([...rotationMatrix(third)]).toEqual([0, 0, 1, 1, 0, 0, 0, 1, 0]);
  });

  test("slerp from 0 to 90 degrees about z is at 30 degrees after a third", () => {
    // Shoemake (1985); derived
    const { yaw } = eulerFromQuaternion(slerp(aboutZ(0), aboutZ(90), 1 / 3));
    expect(Math.abs(yaw / degree - 30)).toBeLessThan(1e-10);
  });

  test("a quarter of the way to 120 degrees about (1, 1, 1) is a rotation vector of (pi / 6) / sqrt 3 each", () => {
    const expected = Math.PI / 6 / Math.sqrt(3);
    const found = rotationVector(slerp(identity, third, 0.25));
    expect(worstDifference(found, [expected, expected, expected])).toBeLessThan(1e-12);
  });

  test("slerp takes the same path to q and to -q", () => {
    for (const fraction of [0, 0.25, 0.6, 1]) {
      const one = slerp(identity, third, fraction);
      expect(worstDifference(slerp(identity, negative(third), fraction), one)).toBeLessThan(1e-15);
    }
  });

  test("angular distance of identity and 120 degrees is 2 pi / 3, by quaternion and by trace", () => {
    expect(Math.abs(angularDistance(identity, third) - (2 * Math.PI) / 3)).toBeLessThan(1e-12);
    expect(Math.abs(angularDistance(negative(identity), third) - (2 * Math.PI) / 3)).toBeLessThan(1e-12);
    const m = rotationMatrix(third);
    expect(Math.abs(Math.acos((m[0]! + m[4]! + m[8]! - 1) / 2) - (2 * Math.PI) / 3)).toBeLessThan(1e-12);
  });

  test("slerp turns at a constant rate: 170 degrees in ten steps of 17", () => {
    const steps = Array.from({ length: 11 }, (_, i) => slerp(aboutZ(0), aboutZ(170), i / 10));
    const turned = steps.slice(1).map((q, i) => angularDistance(steps[i]!, q) / degree);
    expect(worstDifference(turned, new Array(10).fill(17))).toBeLessThan(1e-9);
  });

  test("angles too small for acos keep their digits", () => {
    for (const angle of [1e-3, 1e-8, 1e-12, 1e-160]) {
      const q = quaternionFromRotationVector([0, angle, 0]);
      expect(Math.abs(rotationVector(q)[1] / angle - 1)).toBeLessThan(1e-14);
      if (angle > 1e-100) expect(Math.abs(angularDistance(identity, q) / angle - 1)).toBeLessThan(1e-14);
    }
    expect([...rotationVector(identity)]).toEqual([0, 0, 0]);
    expect(rotationVector([0, 0, 1, 0])[2]).toBe(Math.PI);
  });

  test("nose straight up: roll is 0 and the attitude is kept", () => {
    for (const pitch of [Math.PI / 2, -Math.PI / 2]) {
      const q = quaternionFromEuler(0.3, pitch, 1.1);
      const angles = eulerFromQuaternion(q);
      expect(angles.roll).toBe(0);
      expect(Math.abs(angles.pitch - pitch)).toBeLessThan(1e-9);
      expect(angularDistance(quaternionFromEuler(angles.roll, angles.pitch, angles.yaw), q)).toBeLessThan(1e-9);
    }
  });
});

describe("weighted mean attitude (Markley et al. 2007)", () => {
  test("turns of 0 and 90 degrees with weights 1 and 3 have the mean atan2(3, 1) = 71.5651 degrees", () => {
    // for a common axis it is the circular mean; derived
    const { yaw } = eulerFromQuaternion(meanQuaternion([aboutZ(0), aboutZ(90)], [1, 3]));
    expect(Math.abs(yaw - Math.atan2(3, 1))).toBeLessThan(1e-10);
  });

  test("signs do not matter and one attitude is its own mean", () => {
    const [q] = randomQuaternions(9, 1) as [[number, number, number, number]];
    expect(angularDistance(meanQuaternion([q, negative(q), q]), q)).toBeLessThan(1e-12);
    expect(meanQuaternion([q])[3]).toBeGreaterThanOrEqual(0);
  });

  test("refuses none, attitudes without one mean, and bad weights", () => {
    const codeOf = (call: () => unknown): string => {
      try {
        call();
      } catch (error) {
        if (error instanceof CounterpoiseError) return error.code;
      }
      return "none";
    };
    expect(() => meanQuaternion([])).toThrow(TooFewSamplesError);
    expect(codeOf(() => meanQuaternion([identity, [0, 0, 1, 0]]))).toBe("no-mean-attitude");
    expect(codeOf(() => meanQuaternion([identity, [0, 0, Number.NaN, 1]]))).toBe("no-mean-attitude");
    expect(codeOf(() => meanQuaternion([identity], [0]))).toBe("bad-weights");
    expect(codeOf(() => meanQuaternion([identity, third], [2, -1]))).toBe("bad-weights");
    expect(codeOf(() => meanQuaternion([identity], [1, 1]))).toBe("unequal-lengths");
  });
});

describeWith(["scipy"], "against scipy's Rotation on seeded random attitudes", () => {
  const p = randomQuaternions(31, 300);
  const q = randomQuaternions(32, 300);
  const weights = p.map((one) => Math.abs(one[0]) + 0.1);
  const vectors = p.map((one, i): Vector3 => [3 * one[0], q[i]![1] - 1, q[i]![3]]);
  const fractions = p.map((one) => Math.abs(one[1]));
  interface Expected {
    product: number[][];
    turned: number[][];
    back: number[][];
    matrix: number[][];
    log: number[][];
    exp: number[][];
    euler: number[][];
    fromEuler: number[][];
    distance: number[];
    slerp: number[][];
    mean: number[];
    meanOfThree: number[];
  }
  const program = `import json,sys,numpy as np
from scipy.spatial.transform import Rotation as R, Slerp
d=json.load(sys.stdin); p=R.from_quat(d["p"]); q=R.from_quat(d["q"]); v=np.array(d["v"])
L=lambda a: np.asarray(a).tolist()
print(json.dumps({"product":L((p*q).as_quat()),"turned":L(p.apply(v)),"back":L(p.apply(v,inverse=True)),
"matrix":L(p.as_matrix().reshape(-1,9)),"log":L(p.as_rotvec()),"exp":L(R.from_rotvec(v).as_quat()),
"euler":L(p.as_euler("ZYX")[:,::-1]),"fromEuler":L(R.from_euler("ZYX",v[:,::-1]).as_quat()),
"distance":L((p.inv()*q).magnitude()),
"slerp":[L(Slerp([0,1],R.from_quat([a,b]))(f).as_quat()) for a,b,f in zip(d["p"],d["q"],d["f"])],
"mean":L(R.from_quat(d["q"][:40]).mean(d["w"][:40]).as_quat()),"meanOfThree":L(R.from_quat(d["q"][:3]).mean().as_quat())}))`;
  let kept: Expected | undefined;
  const expected = (): Expected => {
    kept ??= runPython<Expected>(program, { p, q, v: vectors, f: fractions, w: weights });
    return kept;
  };
  /** the sign of a quaternion means nothing: the nearer of the two */
  const attitudeDifference = (found: Quaternion, wanted: readonly number[]): number =>
    Math.min(worstDifference(found, wanted), worstDifference(negative(found), wanted));
  // everything here is a dozen roundings of numbers of size 1 to 5
  const tolerance = 5e-15;

  test("product, rotation of vectors both ways, matrix", () => {
    p.forEach((one, i) => {
      expect(attitudeDifference(multiplyQuaternions(one, q[i]!), expected().product[i]!)).toBeLessThan(tolerance);
      expect(worstDifference(rotateVector(one, vectors[i]!), expected().turned[i]!)).toBeLessThan(tolerance);
      expect(worstDifference(rotateVectorInverse(one, vectors[i]!), expected().back[i]!)).toBeLessThan(tolerance);
      expect(worstDifference(rotationMatrix(one), expected().matrix[i]!)).toBeLessThan(tolerance);
    });
  });

  test("logarithm, exponential, angular distance, slerp", () => {
    p.forEach((one, i) => {
      expect(worstDifference(rotationVector(one), expected().log[i]!)).toBeLessThan(1e-14);
      expect(attitudeDifference(quaternionFromRotationVector(vectors[i]!), expected().exp[i]!)).toBeLessThan(tolerance);
      expect(Math.abs(angularDistance(one, q[i]!) - expected().distance[i]!)).toBeLessThan(1e-14);
      expect(attitudeDifference(slerp(one, q[i]!, fractions[i]!), expected().slerp[i]!)).toBeLessThan(1e-14);
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

  test("mean of three general attitudes, and of forty with weights", () => {
    // eigenvectors of a 4 x 4 matrix with well separated eigenvalues
    expect(attitudeDifference(meanQuaternion(q.slice(0, 3)), expected().meanOfThree)).toBeLessThan(1e-12);
    expect(attitudeDifference(meanQuaternion(q.slice(0, 40), weights.slice(0, 40)), expected().mean)).toBeLessThan(
      1e-12,
    );
  });
});

test("q and -q are one rotation, and a conjugate undoes it", () => {
  const part = fc.double({ min: -1, max: 1, noNaN: true });
  fc.assert(
    fc.property(fc.tuple(part, part, part, part), fc.tuple(part, part, part), (raw, v) => {
      fc.pre(Math.hypot(...raw) > 1e-3);
      const q = normalizeQuaternion(raw);
      expect(worstDifference(rotateVector(negative(q), v), rotateVector(q, v))).toBe(0);
      // an exact half turn has two shortest ways
      if (q[3] !== 0) expect(worstDifference(rotationVector(negative(q)), rotationVector(q))).toBe(0);
      expect(worstDifference(rotateVector(conjugateQuaternion(q), rotateVector(q, v)), v)).toBeLessThan(4e-15);
    }),
    { seed: 7, numRuns: 200 },
  );
});

test("normalizeQuaternion keeps direction and sign and refuses what has no direction", () => {
  expect([...normalizeQuaternion([0, 0, -3, -4])]).toEqual([0, 0, -0.6, -0.8]);
  for (const bad of [
    [0, 0, 0, 0],
    [Number.NaN, 0, 0, 1],
    [0, Number.POSITIVE_INFINITY, 0, 1],
  ] as const) {
    expect(() => normalizeQuaternion(bad)).toThrow(CounterpoiseError);
  }
});

describe("continuousSigns", () => {
  /** a slow turn through more than one revolution */
  const track = Array.from({ length: 200 }, (_, i) => quaternionFromEuler(0.1, -0.2, i * 0.07));
  const column = (of: readonly Quaternion[], part: number): Float64Array => Float64Array.from(of, (q) => q[part]!);
  const columns = (of: readonly Quaternion[]) =>
    continuousSigns(column(of, 0), column(of, 1), column(of, 2), column(of, 3));

  test("undoes random changes of sign, so that the path has no jump", () => {
    // quaternionFromEuler of a growing yaw is continuous by itself and starts with w > 0: it is the expected path
    const flipped = track.map((q, i) => ((i * 7919) % 5 < 2 ? negative(q) : q));
    const found = columns(flipped);
    expect([found.qx, found.qy, found.qz, found.qw]).toEqual([0, 1, 2, 3].map((part) => column(track, part)));
  });

  test("passes over lost samples and leaves them as they are", () => {
    const lost: Quaternion[] = track.map((q, i) => (i >= 50 && i < 53 ? [0, 0, 0, 0] : negative(q)));
    lost[60] = [Number.NaN, Number.NaN, Number.NaN, Number.NaN];
    const found = columns(lost);
    expect([found.qw[50], found.qw[60]]).toEqual([0, Number.NaN]);
    expect(found.qw[53]).toBe(track[53]![3]);
    expect(found.qw[61]).toBe(track[61]![3]);
  });

  test("refuses columns of unequal length", () => {
    const four = new Float64Array(4);
    expect(() => continuousSigns(four, four, four, new Float64Array(3))).toThrow("found 4 and 3");
  });
});
