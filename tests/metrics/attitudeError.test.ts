import { expect, test } from "vitest";
import type { PoseTrack } from "../../src/foundation/tracks.ts";
import { attitudeAngles, attitudeError } from "../../src/metrics/attitudeError.ts";
import { randomQuaternions } from "../numeric/randomColumns.ts";
import { describeWith } from "../support/available.ts";
import { runPython } from "../support/run.ts";

type Attitudes = Parameters<typeof attitudeAngles>[0];
const errorOf = (measured: Attitudes, commanded: Attitudes) => attitudeError(attitudeAngles(measured, commanded));

function track(quaternions: readonly (readonly number[])[]): PoseTrack {
  const column = (k: number): Float64Array => Float64Array.from(quaternions, (q) => q[k]!);
  const zero = new Float64Array(quaternions.length);
  return {
    t: Float64Array.from(quaternions, (_, i) => i / 100),
    x: zero,
    y: zero,
    z: zero,
    qx: column(0),
    qy: column(1),
    qz: column(2),
    qw: column(3),
  };
}
const yawed = (degrees: number): number[] => {
  const half = (degrees * Math.PI) / 360;
  return [0, 0, Math.sin(half), Math.cos(half)];
};

test("a vehicle that holds 10 degrees of yaw beside its command has rms 10 degrees and no spread", () => {
  const figures = errorOf(track([yawed(100), yawed(-80)]), track([yawed(90), yawed(-90)]))!;
  expect(figures.yaw.rms).toBeCloseTo(Math.PI / 18, 14);
  expect(figures.yaw.sd).toBeLessThan(1e-14);
  expect(figures.roll.rms + figures.pitch.rms).toBeLessThan(1e-14);
});

test("yaw 3 and -1 degrees about the command: mean 1, sd 2 root 2, rms root 5, by hand", () => {
  const { yaw } = errorOf(track([yawed(3), yawed(-1)]), track([yawed(0), yawed(0)]))!;
  expect((yaw.sd * 180) / Math.PI).toBeCloseTo(2 * Math.SQRT2, 12);
  expect((yaw.rms * 180) / Math.PI).toBeCloseTo(Math.sqrt(5), 12);
});

test("q and -q are the same attitude", () => {
  const [a, b] = [yawed(3), yawed(-1)];
  const level = track([yawed(0), yawed(0)]);
  const flipped = errorOf(track([a.map((part) => -part), b]), level)!;
  const plain = errorOf(track([a, b]), level)!;
  expect(flipped.yaw).toEqual(plain.yaw);
});

test("samples without a commanded attitude are left out; with fewer than two there is nothing", () => {
  const none = [0, 0, 0, Number.NaN];
  const measured = track([yawed(3), yawed(40), yawed(-1)]);
  const level = yawed(0);
  expect(errorOf(measured, track([level, none, level]))).toEqual(
    errorOf(track([yawed(3), yawed(-1)]), track([level, level])),
  );
  expect(errorOf(measured, track([level, none, none]))).toBeNull();
});

describeWith(["scipy"], "attitude error against scipy", () => {
  test("roll, pitch and yaw are those of scipy's Rotation.as_euler('ZYX') of commanded inverse times measured", () => {
    const commanded = randomQuaternions(1, 400);
    const measured = randomQuaternions(2, 400);
    const expected = runPython<Record<"roll" | "pitch" | "yaw", { sd: number; rms: number }> & { tilt: number }>(
      `
import json, sys, numpy as np
from scipy.spatial.transform import Rotation as R
commanded, measured = json.load(sys.stdin)
e = (R.from_quat(commanded).inv() * R.from_quat(measured)).as_euler("ZYX")
own = lambda v: {"sd": v.std(ddof=1), "rms": np.sqrt((v**2).mean())}
up = [R.from_quat(q).apply([0, 0, 1]) for q in (commanded, measured)]
tilt = np.arctan2(np.linalg.norm(np.cross(*up), axis=1), (up[0] * up[1]).sum(axis=1))
print(json.dumps({"tilt": np.sqrt((tilt**2).mean()), "yaw": own(e[:,0]), "pitch": own(e[:,1]), "roll": own(e[:,2])}))
`,
      [commanded, measured],
    );
    const found = errorOf(track(measured), track(commanded))!;
    for (const angle of ["roll", "pitch", "yaw"] as const) {
      // near pitch 90 degrees an angle is good to the root of double precision only; of 400 random attitudes the worst is 1e-2 away
      expect(Math.abs(found[angle].sd - expected[angle].sd)).toBeLessThan(1e-10);
      expect(Math.abs(found[angle].rms - expected[angle].rms)).toBeLessThan(1e-10);
    }
    // the angle between the up axes turned by scipy, from their cross and dot products
    expect(Math.abs(found.tilt.rms - expected.tilt)).toBeLessThan(1e-12);
  });
});
