import { beforeAll, expect, test } from "vitest";
import {
  fromYUp,
  meanUpInBody,
  pointOnBody,
  transformPoses,
  turnBodyAxes,
  withControlPoint,
} from "../../src/alignment/frames.ts";
import { rotateVector } from "../../src/numeric/quaternion.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { randomQuaternions } from "../numeric/randomColumns.ts";
import { describeWith } from "../support/available.ts";
import { runPython } from "../support/run.ts";
import { evenTimes, expectNear, noisyFlight, poses, turn } from "./signals.ts";

const degree = Math.PI / 180;

test("turning a y-up world keeps handedness, and up becomes up", () => {
  const [x, y, z] = [
    rotateVector(fromYUp, [1, 0, 0]),
    rotateVector(fromYUp, [0, 1, 0]),
    rotateVector(fromYUp, [0, 0, 1]),
  ];
  // x stays; y (up) becomes z (up); z becomes -y; to a unit in the last place of the root of one half squared
  expectNear([...x, ...y, ...z], [1, 0, 0, 0, 0, 1, 0, -1, 0], 3e-16);
  const determinant =
    x[0] * (y[1] * z[2] - y[2] * z[1]) - y[0] * (x[1] * z[2] - x[2] * z[1]) + z[0] * (x[1] * y[2] - x[2] * y[1]);
  expect(Math.abs(determinant - 1)).toBeLessThan(1e-15);
});

test("a lever arm of 0.3 m and a degree are worth 5.2 mm", () => {
  const level = poses(Float64Array.of(0, 1), (t) => ({ p: [1, 2, 3], q: turn([0, 1, 0], t * degree) }));
  const point = pointOnBody(level, [0, 0, -0.3]);
  const moved = Math.hypot(point.x[1]! - point.x[0]!, point.y[1]! - point.y[0]!, point.z[1]! - point.z[0]!);
  // chord: 2 * 0.3 * sin(half a degree) = 5.2359 mm, by hand
  expect(moved).toBeCloseTo(0.6 * Math.sin(degree / 2), 12);
  expect(Math.round(moved * 1e4) / 10).toBe(5.2);
  // nose up about y takes a point below the vehicle backwards: sign by hand, R_y(a) (0, 0, -r) = (-r sin a, 0, -r cos a)
  expect(point.x[1]! - 1).toBeCloseTo(-0.3 * Math.sin(degree), 12);
});

test("a point at the origin of the body is the body, and a control point leaves the attitude alone", () => {
  const flight = noisyFlight(120, 100, 1);
  expect(pointOnBody(flight, [0, 0, 0])).toBe(flight);
  const moved = withControlPoint(flight, [0.1, 0.2, 0.3]);
  expect(moved.qx).toEqual(flight.qx);
  expect(moved.x[0]).not.toBe(flight.x[0]);
});

test("no transform, no change", () => {
  const flight = noisyFlight(121, 100, 1);
  expect(transformPoses(flight, { translation: [0, 0, 0], rotation: [0, 0, 0, 1] })).toBe(flight);
});

test("NaN positions stay NaN under a transform", () => {
  const track = poses(Float64Array.of(0), () => ({ p: [Number.NaN, Number.NaN, Number.NaN] }));
  expect(transformPoses(track, { translation: [1, 0, 0], rotation: fromYUp }).x[0]).toBeNaN();
});

test("a level vehicle sees up along its own z, a body defined y-up along its y, and turned axes mend that", () => {
  const level = poses(evenTimes(10, 1), (t) => ({ p: [0, 0, 0], q: turn([0, 0, 1], t) }));
  expectNear(meanUpInBody(level), [0, 0, 1], 1e-12);
  // level in a y-up world: identity attitude, body y is up; seen from a z-up world
  const yUp = transformPoses(
    poses(evenTimes(10, 1), (t) => ({ p: [0, 0, 0], q: turn([0, 1, 0], t) })),
    { translation: [0, 0, 0], rotation: fromYUp },
  );
  expectNear(meanUpInBody(yUp), [0, 1, 0], 1e-12);
  const mended = turnBodyAxes(yUp);
  expectNear(meanUpInBody(mended), [0, 0, 1], 1e-12);
  // a turn about the y-up world's up is the same turn about the z-up world's
  mended.t.forEach((t, i) => {
    const [x, y, z, w] = turn([0, 0, 1], t);
    expect(Math.abs(x * mended.qx[i]! + y * mended.qy[i]! + z * mended.qz[i]! + w * mended.qw[i]!)).toBeCloseTo(1, 12);
  });
  expect(meanUpInBody(poses(new Float64Array(0), () => ({ p: [0, 0, 0] })))).toEqual([0, 0, 0]);
});

describeWith(["scipy"], "frames against scipy's Rotation", () => {
  const random = seededRandom(122);
  const attitudes = randomQuaternions(123, 50);
  const track = poses(evenTimes(50, 1), (_t, i) => ({
    p: [random.normal(), random.normal(), random.normal()],
    q: attitudes[i]!,
  }));
  const rows = (...columns: Float64Array[]): number[][] =>
    [...track.t].map((_, i) => columns.map((column) => column[i]!));
  const input = { p: rows(track.x, track.y, track.z), q: rows(track.qx, track.qy, track.qz, track.qw) };
  // positions of a few metres, ten operations: some units in the last place
  const tolerance = 5e-15;

  const rotation = randomQuaternions(124, 1)[0]!;
  const translation = [1.5, -2, 0.25] as const;
  const r = [0.06, -0.03, -0.165] as const;
  let reference: { moved: number[][]; turned: number[][][]; point: number[][] };

  beforeAll(() => {
    reference = runPython(
      `
import json, sys, numpy
from scipy.spatial.transform import Rotation
d = json.load(sys.stdin)
T = Rotation.from_quat(d["rotation"])
q = Rotation.from_quat(d["q"])
print(json.dumps({
    "moved": (T.apply(d["p"]) + numpy.array(d["translation"])).tolist(),
    "turned": (T * q).as_matrix().tolist(),
    "point": (numpy.array(d["p"]) + q.apply(d["r"])).tolist(),
}))`,
      { ...input, rotation, translation, r },
    );
  });

  test("transformPoses is T o pose", () => {
    const out = transformPoses(track, { translation, rotation });
    track.t.forEach((_, i) => {
      expectNear([out.x[i]!, out.y[i]!, out.z[i]!], reference.moved[i]!, tolerance);
      for (let column = 0; column < 3; column++) {
        const unit = [0, 1, 2].map((a) => (a === column ? 1 : 0)) as [number, number, number];
        const turned = rotateVector([out.qx[i]!, out.qy[i]!, out.qz[i]!, out.qw[i]!], unit);
        const expected = reference.turned[i]!.map((row) => row[column]!);
        expectNear(turned, expected, tolerance);
      }
    });
  });

  test("pointOnBody is p + R(q) r", () => {
    const out = pointOnBody(track, r);
    track.t.forEach((_, i) => {
      expectNear([out.x[i]!, out.y[i]!, out.z[i]!], reference.point[i]!, tolerance);
    });
  });
});
