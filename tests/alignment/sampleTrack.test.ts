import { beforeAll, expect, test } from "vitest";
import { samplePoints, samplePoses } from "../../src/alignment/sampleTrack.ts";
import type { PoseTrack } from "../../src/foundation/tracks.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { describeWith } from "../support/available.ts";
import { runPython } from "../support/run.ts";
import { evenTimes, noisyFlight, poses, turn } from "./signals.ts";

describeWith(["scipy"], "sampling against numpy and scipy", () => {
  const track = noisyFlight(100, 100, 4, 0.8);
  const random = seededRandom(101);
  const inner = track.t[track.t.length - 1]! - track.t[0]!;
  const times = Float64Array.from({ length: 500 }, () => track.t[0]! + inner * random.uniform()).sort();
  const axis = [0.48, -0.6, 0.64] as const;
  const at = evenTimes(173, 3.8);
  const turns = [0.05, 0.3, 1].map((step) => {
    // the signs that a track keeps: continuous, not those that half the angle passes through
    const coarse = poses(evenTimes(10, 4), (_t, i) => ({ p: [0, 0, 0], q: turn(axis, step * i) }));
    return { step, coarse, ours: samplePoses(coarse, at) };
  });
  const quaternions = ({ qx, qy, qz, qw }: PoseTrack): number[][] =>
    Array.from(qx, (x, i) => [x, qy[i]!, qz[i]!, qw[i]!]);
  let reference: Record<"x" | "y" | "z" | "shifted", number[]> & { angles: number[][] };

  beforeAll(() => {
    reference = runPython(
      `
import json, sys, numpy
from scipy.spatial.transform import Rotation, Slerp
d = json.load(sys.stdin)
out = {a: numpy.interp(d["times"], d["t"], d[a]).tolist() for a in "xyz"}
out["shifted"] = numpy.interp(numpy.array(d["times"]) + 0.037, d["t"], d["x"]).tolist()
out["angles"] = []
for turn in d["turns"]:
    true = Slerp(turn["t"], Rotation.from_quat(numpy.array(turn["q"])))(d["at"])
    out["angles"].append((true.inv() * Rotation.from_quat(numpy.array(turn["ours"]))).magnitude().tolist())
print(json.dumps(out))`,
      {
        times: [...times],
        t: [...track.t],
        x: [...track.x],
        y: [...track.y],
        z: [...track.z],
        at: [...at],
        turns: turns.map(({ coarse, ours }) => ({ t: [...coarse.t], q: quaternions(coarse), ours: quaternions(ours) })),
      },
    );
  });

  test("positions are numpy.interp's", () => {
    const ours = samplePoints(track, times);
    for (const axis of ["x", "y", "z"] as const) {
      // the same two-point formula in another order: a few units in the last place of 1.5 m
      const worst = Math.max(...times.map((_, i) => Math.abs(ours[axis][i]! - reference[axis][i]!)));
      expect(worst).toBeLessThan(2e-15);
    }
  });

  test("a shift is added to the instants, as numpy.interp of the shifted ones", () => {
    const ours = samplePoints(track, times, 0.037).x;
    const last = track.t[track.t.length - 1]!;
    times.forEach((time, i) => {
      // numpy holds the last value beyond the end; we know of none
      if (time + 0.037 > last) expect(ours[i]).toBeNaN();
      else expect(Math.abs(ours[i]! - reference.shifted[i]!)).toBeLessThan(2e-15);
    });
  });

  test.each(turns.map(({ step }, k) => [step, k] as const))(
    "attitudes %f rad apart differ from scipy's Slerp by no more than angle^3 / 70",
    (step, k) => {
      // leading term of the difference at fraction f: angle^3 f (1 - f) (1 - 2 f) / 24, at most angle^3 / 249;
      // so angle^3 / 70 holds with room, and a track that took the nearer sample would miss it by far (angle / 2)
      const largest = Math.max(...reference.angles[k]!);
      expect(largest).toBeLessThan(step ** 3 / 70);
      expect(largest).toBeGreaterThan(step ** 3 / 400);
    },
  );
});

test("at its own instants a track gives its own values, bit by bit", () => {
  const track = noisyFlight(102, 50, 2);
  expect(samplePoints(track, track.t)).toEqual({ x: track.x, y: track.y, z: track.z });
});

test("outside the track there is nothing: NaN, never the last value", () => {
  const track = poses(Float64Array.of(1, 2, 3), (t) => ({ p: [t, 0, 0] }));
  expect([...samplePoints(track, Float64Array.of(0.999, 1, 1.5, 3, 3.001)).x]).toEqual([
    Number.NaN,
    1,
    1.5,
    3,
    Number.NaN,
  ]);
  const { qw, x } = samplePoses(track, Float64Array.of(0, 2, 4));
  expect([...qw]).toEqual([Number.NaN, 1, Number.NaN]);
  expect([...x]).toEqual([Number.NaN, 2, Number.NaN]);
});

test("NaN in a track spreads to the instants between it and its neighbours, no further", () => {
  const track = poses(Float64Array.of(0, 1, 2, 3, 4), (t) => ({ p: [t === 2 ? Number.NaN : t, 0, 0] }));
  expect([...samplePoints(track, Float64Array.of(0.5, 1, 1.5, 2, 2.5, 3, 3.5)).x]).toEqual([
    0.5,
    1,
    Number.NaN,
    Number.NaN,
    Number.NaN,
    3,
    3.5,
  ]);
});

test("an empty track gives NaN, a track of one sample that sample", () => {
  const empty = poses(new Float64Array(0), () => ({ p: [0, 0, 0] }));
  expect([...samplePoints(empty, Float64Array.of(0, 1)).x]).toEqual([Number.NaN, Number.NaN]);
  const one = poses(Float64Array.of(1), () => ({ p: [7, 0, 0] }));
  expect([...samplePoints(one, Float64Array.of(0, 1, 2)).x]).toEqual([Number.NaN, 7, Number.NaN]);
});

test("equal instants give equal values", () => {
  const track = poses(Float64Array.of(0, 1, 2), (t) => ({ p: [t * t, 0, 0] }));
  expect([...samplePoints(track, Float64Array.of(0.5, 0.5, 1.5, 1.5)).x]).toEqual([0.5, 0.5, 2.5, 2.5]);
});
