import { describe, expect, test } from "vitest";
import { NotFiniteError } from "../../src/foundation/errors.ts";
import { rotateVector } from "../../src/numeric/quaternion.ts";
import { areCollinear, rigidFit } from "../../src/numeric/rigidFit.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { describeWith } from "../support/available.ts";
import { runPython } from "../support/run.ts";

const body = [0.1, 0, 0, 0, 0.2, 0, 0, 0, 0.3, 0.1, 0.1, 0.1];

describe("a body that was turned and shifted exactly", () => {
  test("is found again, with nothing left", () => {
    const random = seededRandom(631);
    for (let k = 0; k < 200; k++) {
      const raw = Array.from({ length: 4 }, () => random.normal());
      const norm = Math.hypot(...raw) * (raw[3]! < 0 ? -1 : 1);
      const q = raw.map((value) => value / norm) as [number, number, number, number];
      const t = [random.normal(), random.normal(), random.normal()];
      const measured = [0, 3, 6, 9].flatMap((i) => {
        const turned = rotateVector(q, [body[i]!, body[i + 1]!, body[i + 2]!]);
        return turned.map((value, axis) => value + t[axis]!);
      });
      const { rotation, translation, squares } = rigidFit(body, measured);
      // exact data: what is left is rounding of numbers of order 1
      for (let i = 0; i < 4; i++) expect(rotation[i]).toBeCloseTo(q[i]!, 12);
      for (let i = 0; i < 3; i++) expect(translation[i]).toBeCloseTo(t[i]!, 12);
      expect(squares).toBeLessThan(1e-13);
    }
  });

  test("turned by half a turn, where the scalar part is 0, is found as well", () => {
    const measured = [-0.1, 0, 0, 0, -0.2, 0, 0, 0, 0.3, -0.1, -0.1, 0.1];
    const { rotation } = rigidFit(body, measured);
    expect(Math.abs(rotation[2])).toBeCloseTo(1, 12);
  });
});

test("a mirrored body is never taken for a turned one: the rotation is proper, and much is left", () => {
  // construct: x reflected; a correct routine returns a proper rotation (S. Umeyama, IEEE Trans. PAMI 13 (1991) 376, eq. 40-43)
  const points = [1, 0, 0, 0, 2, 0, 0, 0, 3, 1, 1, 1];
  const mirrored = points.map((value, k) => (k % 3 === 0 ? -value : value));
  const { rotation, squares } = rigidFit(points, mirrored);
  expect(Math.hypot(...rotation)).toBeCloseTo(1, 12);
  expect(squares).toBeGreaterThan(0.1);
});

test("fewer than three points are refused, points on one line are reported", () => {
  expect(() => rigidFit([0, 0, 0, 1, 1, 1], [0, 0, 0, 1, 1, 1])).toThrow(/at least 3/);
  expect(areCollinear([0, 0, 0, 1, 1, 1, 2, 2, 2.001])).toBe(true);
  expect(areCollinear([0, 0, 0, 1, 1, 1, 2, 2, 3])).toBe(false);
  expect(areCollinear([0, 0, 0, 0, 0, 0, 0, 0, 0])).toBe(true);
});

test("a residual far below the size of the body keeps its digits, and NaN is refused", () => {
  // a square of 20 m whose corners are moved by 1 um, along its plane to and fro: no turn and no shift takes that away. The sum
  // of four squares of 1e-6 is 4e-12, next to sizes of 1600: as a difference of those it would be rounding
  const body = [10, 0, 0, 0, 10, 0, -10, 0, 0, 0, -10, 0];
  const off = 1e-6;
  const measured = [10 + off, 0, 0, 0, 10 - off, 0, -10 - off, 0, 0, 0, -10 + off, 0];
  expect(Math.abs(rigidFit(body, measured).squares / (4 * off * off) - 1)).toBeLessThan(1e-6);
  expect(() => rigidFit(body, [...measured.slice(0, 11), Number.NaN])).toThrow(NotFiniteError);
});

describeWith(["scipy"], "rigidFit against scipy", () => {
  test("on noisy bodies of three to eight points", () => {
    const random = seededRandom(632);
    const cases = Array.from({ length: 60 }, (_, k) => {
      const n = 3 + (k % 6);
      const places = Array.from({ length: 3 * n }, () => random.normal());
      const angle = Array.from({ length: 3 }, () => random.normal());
      return { places, angle, noise: Array.from({ length: 3 * n }, () => 0.05 * random.normal()) };
    });
    const expected = runPython<{ measured: number[]; rotation: number[]; translation: number[]; squares: number }[]>(
      `
import json, sys
import numpy
from scipy.spatial.transform import Rotation
answers = []
for case in json.load(sys.stdin):
    body = numpy.array(case["places"]).reshape(-1, 3)
    measured = Rotation.from_rotvec(case["angle"]).apply(body) + [1, 2, 3] + numpy.array(case["noise"]).reshape(-1, 3)
    a, b = body - body.mean(0), measured - measured.mean(0)
    rotation, rssd = Rotation.align_vectors(b, a)
    q = rotation.as_quat()
    answers.append({"measured": measured.ravel().tolist(), "rotation": (q if q[3] >= 0 else -q).tolist(),
                    "translation": (measured.mean(0) - rotation.apply(body.mean(0))).tolist(), "squares": float(rssd) ** 2})
print(json.dumps(answers))
`,
      cases,
    );
    expected.forEach(({ measured, rotation, translation, squares }, k) => {
      const found = rigidFit(cases[k]!.places, measured);
      // two ways to one minimum (scipy: singular values): rounding of numbers of order 1
      for (let i = 0; i < 4; i++) expect(found.rotation[i]).toBeCloseTo(rotation[i]!, 10);
      for (let i = 0; i < 3; i++) expect(found.translation[i]).toBeCloseTo(translation[i]!, 10);
      expect(found.squares).toBeCloseTo(squares, 10);
    });
  });
});
