import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { armTrack, effectorTrack, type SubjectTrack, vehicleTrack } from "../../src/alignment/subjectTracks.ts";
import type { Frames } from "../../src/contract/campaign.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import type { PointTrack, PoseTrack } from "../../src/foundation/tracks.ts";
import type { Quaternion, Vector3 } from "../../src/foundation/units.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { randomQuaternions } from "../numeric/randomColumns.ts";
import { campaign, evenTimes, expectNear, poses, turn } from "./signals.ts";

// the geometry is built with matrices here, not with the quaternion product of the code under test
type Matrix = readonly [Vector3, Vector3, Vector3];

function matrix([x, y, z, w]: Quaternion): Matrix {
  return [
    [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
    [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
    [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
  ];
}
const times = (m: Matrix, v: Vector3): Vector3 =>
  m.map((row) => row[0] * v[0] + row[1] * v[1] + row[2] * v[2]) as unknown as Vector3;
const plus = (a: Vector3, b: Vector3): Vector3 => [a[0] + b[0], a[1] + b[1], a[2] + b[2]];

const armBase = { translation: [0.06, 0.02, -0.12] as const, rotation: turn([0.6, 0, 0.8], 0.7) };
const frames: Frames = { ...campaign().frames, armBase };
const frameNames = ["world", "vehicle", "arm_base"] as const;

/** Where the tool is when the arm does what it is told, from a vehicle at p with attitude q. */
function toolAt(frame: (typeof frameNames)[number], p: Vector3, q: Quaternion, command: Vector3): Vector3 {
  if (frame === "world") return command;
  if (frame === "vehicle") return plus(p, times(matrix(q), command));
  return plus(p, times(matrix(q), plus(armBase.translation, times(matrix(armBase.rotation), command))));
}

const t = evenTimes(100, 2);
const command = poses(t, (time) => ({ p: [0.08, 0.06 * Math.cos(4 * time), -0.04 + 0.06 * Math.sin(4 * time)] }));
const commandAt = (i: number): Vector3 => [command.x[i]!, command.y[i]!, command.z[i]!];

/** A vehicle that tumbles anywhere: every sample another attitude. */
function tumbling(seed: number): PoseTrack {
  const attitudes = randomQuaternions(seed, t.length);
  const random = seededRandom(seed + 1);
  return poses(t, (_, i) => ({ p: [random.normal(), random.normal(), 1.5 + random.normal()], q: attitudes[i]! }));
}
const poseAt = (track: PoseTrack, i: number): [Vector3, Quaternion] => [
  [track.x[i]!, track.y[i]!, track.z[i]!],
  [track.qx[i]!, track.qy[i]!, track.qz[i]!, track.qw[i]!],
];
const points = (at: (i: number) => Vector3): PointTrack => poses(t, (_, i) => ({ p: at(i) }));
const largest = ({ error }: SubjectTrack): number =>
  Math.max(...error.x.map(Math.abs), ...error.y.map(Math.abs), ...error.z.map(Math.abs));

// metres of a few, twenty operations: 1e-14 is some ten units in the last place
const exact = 1e-14;

describe.each(frameNames)("a command in frame %s", (frame) => {
  test("effector: no error where the tool is where setpoint, arm base and command put it", () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 100_000 }), (seed) => {
        const setpoint = tumbling(seed);
        const tool = points((i) => toolAt(frame, ...poseAt(setpoint, i), commandAt(i)));
        const track = effectorTrack(tool, command, setpoint, frame, frames);
        expect(track.t.length).toBe(t.length);
        expect(largest(track)).toBeLessThan(exact);
      }),
      { seed: 131, numRuns: 20 },
    );
  });

  test("arm: no error where the arm does what it is told, wherever the vehicle goes instead of its setpoint", () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 100_000 }), (seed) => {
        const vehicle = tumbling(seed);
        const tool = points((i) => toolAt(frame, ...poseAt(vehicle, i), commandAt(i)));
        const track = armTrack(vehicle, tool, command, frame, frames, 0.01, defaultSettings);
        expect(track.t.length).toBe(t.length);
        expect(largest(track)).toBeLessThan(exact);
      }),
      { seed: 132, numRuns: 20 },
    );
  });

  test("effector: a tool displaced in the world has that error in world axes", () => {
    const setpoint = tumbling(133);
    const tool = points((i) => plus(toolAt(frame, ...poseAt(setpoint, i), commandAt(i)), [0.001, -0.002, 0.003]));
    const { error } = effectorTrack(tool, command, setpoint, frame, frames);
    error.x.forEach((_, i) => {
      expect(
        Math.abs(error.x[i]! - 0.001) + Math.abs(error.y[i]! + 0.002) + Math.abs(error.z[i]! - 0.003),
      ).toBeLessThan(exact);
    });
  });

  test("arm: a tool displaced in the vehicle frame has that error in vehicle axes", () => {
    const vehicle = tumbling(134);
    const by: Vector3 = [0.001, -0.002, 0.003];
    const tool = points((i) => {
      const [p, q] = poseAt(vehicle, i);
      return plus(toolAt(frame, p, q, commandAt(i)), times(matrix(q), by));
    });
    const { error } = armTrack(vehicle, tool, command, frame, frames, 0.01, defaultSettings);
    error.x.forEach((_, i) => {
      expect(
        Math.abs(error.x[i]! - 0.001) + Math.abs(error.y[i]! + 0.002) + Math.abs(error.z[i]! - 0.003),
      ).toBeLessThan(exact);
    });
  });
});

test("what the vehicle did instead of its setpoint is error of the effector, and none of the arm", () => {
  const setpoint = poses(t, () => ({ p: [0.4, -0.2, 1.5], q: turn([0, 0, 1], 0.3) }));
  const vehicle = { ...setpoint, x: setpoint.x.map((x) => x + 0.02) };
  const tool = points((i) => toolAt("arm_base", ...poseAt(vehicle, i), commandAt(i)));
  const effector = effectorTrack(tool, command, setpoint, "arm_base", frames);
  expect(Math.abs(effector.error.x[7]! - 0.02)).toBeLessThan(exact);
  expect(Math.abs(effector.error.y[7]!)).toBeLessThan(exact);
  expect(largest(armTrack(vehicle, tool, command, "arm_base", frames, 0.01, defaultSettings))).toBeLessThan(exact);
});

test("arm error does not know how the vehicle moves", () => {
  const random = seededRandom(135);
  const arm = t.map(() => 0.003 * random.normal());
  const errorOf = (vehicle: PoseTrack) => {
    const tool = points((i) => {
      const [p, q] = poseAt(vehicle, i);
      return toolAt("vehicle", p, q, plus(commandAt(i), [arm[i]!, 0, 2 * arm[i]!]));
    });
    return armTrack(vehicle, tool, command, "vehicle", frames, 0.01, defaultSettings).error;
  };
  const still = errorOf(poses(t, () => ({ p: [0, 0, 1.5] })));
  const tumbled = errorOf(tumbling(136));
  for (const axis of ["x", "y", "z"] as const) {
    expectNear(still[axis], tumbled[axis], exact);
  }
});

test("vehicle: measured minus setpoint, at the measured samples", () => {
  const measured = poses(evenTimes(100, 1, 0.005), (time) => ({ p: [time, 2, 3] }));
  const setpoint = poses(evenTimes(50, 2), (time) => ({ p: [time - 0.01, 2.5, 3] }));
  const { t: at, error, measured: kept } = vehicleTrack(measured, setpoint);
  expect(at).toEqual(measured.t);
  expect(kept.x).toEqual(measured.x);
  expectNear(error.x, new Float64Array(100).fill(0.01), 1e-12);
  expect([...new Set(error.y)]).toEqual([-0.5]);
});

test("samples before the first command, after the last and where nothing was commanded are left out", () => {
  const measured = poses(evenTimes(10, 10), () => ({ p: [0, 0, 0] }));
  const setpoint = poses(Float64Array.of(2, 4, 4.05, 6, 8), (time) => ({ p: [time === 4.05 ? Number.NaN : 0, 0, 0] }));
  const { t: at } = vehicleTrack(measured, setpoint);
  expect(at[0]).toBe(2);
  expect(at[at.length - 1]).toBe(8);
  // from the NaN's neighbour before to the one after: 4.1 to 5.9 are not commanded
  expect([...at].filter((time) => time > 4.001 && time < 5.999)).toEqual([]);
  expect(at.length).toBe(21 + 21);
});

describe("effector neighbours of the arm error", () => {
  const vehicle = poses(t, () => ({ p: [0, 0, 0] }));
  const at = (instants: Float64Array): Float64Array => {
    const tool = poses(instants, () => ({ p: [0.1, 0, 0] }));
    return armTrack(
      vehicle,
      tool,
      poses(t, () => ({ p: [0.1, 0, 0] })),
      "vehicle",
      frames,
      0.01,
      defaultSettings,
    ).t;
  };

  test("no further apart than 1.5 intervals serve; two intervals do not", () => {
    // the tool half an interval off the vehicle's samples, one of its samples missing
    const instants = evenTimes(100, 2, -0.005).filter((_, i) => i !== 100);
    const lost = [...t].filter((time) => ![...at(instants)].includes(time));
    // the missing sample at 0.995 s takes the vehicle's samples at 0.99 and 1.00 s with it, and the tool's last sample
    // at 1.985 s those beyond it
    expect(lost).toEqual([0.99, 1, 1.99]);
  });

  test("a vehicle sample on a tool sample serves, even at the edge of a gap; nothing is carried across", () => {
    const instants = t.filter((time) => time <= 0.5 || time >= 1);
    const lost = [...t].filter((time) => ![...at(instants)].includes(time));
    expect(lost.length).toBe(49);
    expect(lost[0]).toBe(0.51);
    expect(lost.at(-1)).toBe(0.99);
  });
});

test("effector: nothing is composed where one of setpoint and command says nothing", () => {
  const setpoint = poses(t, (time) => ({ p: [time > 0.5 && time < 0.7 ? Number.NaN : 0, 0, 0] }));
  const spoken = poses(t, (time) => ({ p: [time > 1.2 && time < 1.4 ? Number.NaN : 0.1, 0, 0] }));
  const { t: at, error } = effectorTrack(
    points(() => [0.1, 0, 0]),
    spoken,
    setpoint,
    "vehicle",
    frames,
  );
  expect([...at].filter((time) => (time > 0.505 && time < 0.695) || (time > 1.205 && time < 1.395))).toEqual([]);
  expect(at.length).toBeGreaterThan(150);
  expect(Math.max(...error.x.map(Math.abs))).toBe(0);
});

test("effector: a command at 20 Hz on a setpoint at 50 Hz is composed at the instants of both", () => {
  const setpoint = poses(evenTimes(50, 2), (time) => ({ p: [0.1 * time, 0, 1.5], q: turn([0, 0, 1], 0.2 * time) }));
  const slow = poses(evenTimes(20, 2), (time) => ({ p: [0.1, 0.06 * Math.sin(2 * time), 0] }));
  const { command: curve } = effectorTrack(
    points(() => [0, 0, 0]),
    slow,
    setpoint,
    "vehicle",
    frames,
  );
  const both = new Set([...setpoint.t, ...slow.t].filter((time) => time <= 1.95));
  expect(curve.t.length).toBe(both.size);
  // at an instant of the setpoint between two commands: linear command, turned by the setpoint's yaw there, by hand
  const i = curve.t.findIndex((time) => Math.abs(time - 0.52) < 1e-9);
  const y = 0.06 * (Math.sin(1.0) + 0.4 * (Math.sin(1.1) - Math.sin(1.0)));
  expect(curve.x[i]).toBeCloseTo(0.052 + 0.1 * Math.cos(0.104) - y * Math.sin(0.104), 12);
  expect(curve.y[i]).toBeCloseTo(0.1 * Math.sin(0.104) + y * Math.cos(0.104), 12);
});
