import { describe, expect, test } from "vitest";
import { prepareSignals } from "../../src/alignment/prepareSignals.ts";
import { onboardOf, prepareSignal } from "../../src/alignment/timedSignals.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { campaign, evenTimes, noisyFlight, oneRun, poseSignal, poses, signal, source } from "./signals.ts";

const prepare = (recorded: ReturnType<typeof signal>, changes: Parameters<typeof campaign>[0] = {}) =>
  prepareSignal(campaign(changes), oneRun, recorded, defaultSettings);

describe("units and size", () => {
  const flight = noisyFlight(221, 100, 5);
  const thousandfold = {
    ...flight,
    x: flight.x.map((v) => v * 1000),
    y: flight.y.map((v) => v * 1000),
    z: flight.z.map((v) => v * 1000),
  };

  test("millimetres taken for metres are unusable, and the hint says what to declare", () => {
    const { checks } = prepare(poseSignal("vehicle_pose", thousandfold));
    expect(checks).toMatchObject([
      { code: "frame-suspect", severity: "unusable", hint: expect.stringContaining("position: mm") },
    ]);
  });

  test("a large arena is no fault", () => {
    const far = { ...flight, x: flight.x.map((v) => v + 40) };
    expect(prepare(poseSignal("vehicle_pose", far)).checks).toEqual([]);
  });
});

describe("a gyro", () => {
  const at = evenTimes(200, 1);
  const rates = (spoil: number[]) => ({
    wx: at.map((_, i) => (spoil.includes(i) ? Number.NaN : 0.1)),
    wy: at.map(() => 0.2),
    wz: at.map(() => 0.3),
  });

  test("rows that are not finite on any axis are left out and counted", () => {
    const prepared = prepare(signal({ signal: "vehicle_rate", topic: "/imu", at, columns: rates([10, 11, 50]) }));
    expect(prepared.timeline.t.length).toBe(197);
    expect([...prepared.timeline.order]).not.toContain(11);
    expect(prepared.checks).toMatchObject([{ code: "gap", severity: "note", evidence: { dropped: 3 } }]);
    expect(prepared.poses).toBeNull();
  });

  test("a sound one passes without a word", () => {
    const prepared = prepare(signal({ signal: "vehicle_rate", at, columns: rates([]) }));
    expect(prepared.checks).toEqual([]);
    expect(prepared.interval).toBeCloseTo(0.005, 12);
  });

  test("one that lacks an axis has no usable row", () => {
    const { wx, wy } = rates([]);
    expect(prepare(signal({ signal: "vehicle_rate", at, columns: { wx, wy } })).timeline.t.length).toBe(0);
  });
});

describe("a command", () => {
  test("keeps every message, masked and repeated ones too", () => {
    const at = evenTimes(50, 2);
    const x = new Float64Array(at.length);
    const prepared = prepare(signal({ signal: "vehicle_setpoint", at, columns: { x, y: x, z: x } }));
    expect(prepared.timeline.t).toEqual(at);
    expect(prepared.faults).toEqual([]);
    expect(prepared.poses).toBeNull();
  });
});

describe("the capture's world", () => {
  const random = seededRandom(222);
  // y-up: climbs along y, the body's own y is up
  const yUp = poses(evenTimes(100, 2), (t) => ({ p: [1 + 2e-4 * random.normal(), 1.5 + 0.1 * t, 3] }));
  const frames = { ...campaign().frames, worldUp: "y" as const };

  test("y-up is turned: up becomes z, z becomes -y, and level stays level", () => {
    const { poses: track } = prepare(poseSignal("vehicle_pose", yUp), { frames });
    track!.t.forEach((t, i) => {
      expect(track!.z[i]).toBeCloseTo(1.5 + 0.1 * t, 12);
      expect(track!.y[i]).toBeCloseTo(-3, 12);
      // level, x forward: the identity, whatever its sign
      expect(Math.abs(track!.qw[i]!)).toBeCloseTo(1, 12);
    });
  });

  test("y-up is turned beside axes of the body too: forward, right, down of a level vehicle becomes the identity", () => {
    // forward is x, right is z, down is -y of the captured world: a quarter turn about x
    const quarter = poses(evenTimes(100, 2), (t) => ({
      p: [1 + 2e-4 * random.normal(), 1.5 + 0.1 * t, 3],
      q: [Math.SQRT1_2, 0, 0, Math.SQRT1_2],
    }));
    const signals = { vehicle_pose: source({ axes: { world: "enu", body: "frd" } }) };
    const { poses: track } = prepare(poseSignal("vehicle_pose", quarter), { frames, signals });
    track!.t.forEach((t, i) => {
      expect(track!.z[i]).toBeCloseTo(1.5 + 0.1 * t, 12);
      expect(track!.y[i]).toBeCloseTo(-3, 12);
      expect(Math.abs(track!.qw[i]!)).toBeCloseTo(1, 12);
    });
  });

  test("a tool that points anywhere has its axes named as the vehicle's are, not as its own attitude would have it", () => {
    // both bodies keep z-up axes in the y-up world; the tool is pitched by 70 degrees, so that its y is nearer to up
    const level = [-Math.SQRT1_2, 0, 0, Math.SQRT1_2] as const;
    const at = evenTimes(100, 2);
    const vehicle = poses(at, () => ({ p: [1 + 2e-4 * random.normal(), 1.5, 3], q: level }));
    const roll = (-160 * Math.PI) / 360;
    const tool = poses(at, () => ({
      p: [1 + 2e-4 * random.normal(), 1.5, 3],
      q: [Math.sin(roll), 0, 0, Math.cos(roll)],
    }));
    const declared = campaign({ frames });
    const signals = new Map(
      [poseSignal("effector_pose", tool), poseSignal("vehicle_pose", vehicle)].map((one) => [one.signal, one]),
    );
    const prepared = prepareSignals(declared, oneRun, signals, defaultSettings);
    expect([...prepared.keys()]).toEqual(["effector_pose", "vehicle_pose"]);
    expect(prepared.get("vehicle_pose")!.bodyUp).toBe("z");
    expect(Math.abs(prepared.get("vehicle_pose")!.poses!.qw[0]!)).toBeCloseTo(1, 12);
    // -160 degrees about x in the y-up world are -70 from level: a quarter turn the other way makes the world z-up
    const { qx, qw } = prepared.get("effector_pose")!.poses!;
    expect(Math.abs(qw[0]!)).toBeCloseTo(Math.cos((35 * Math.PI) / 180), 12);
    expect(Math.abs(qx[0]!)).toBeCloseTo(Math.sin((35 * Math.PI) / 180), 12);
    // alone, with no vehicle to follow, its own attitude is all there is
    expect(prepare(poseSignal("effector_pose", tool), { frames }).bodyUp).toBe("y");
  });

  test("z-up is left alone, and so is the onboard estimate's world, which follows `onboard` instead", () => {
    expect(prepare(poseSignal("vehicle_pose", yUp)).poses!.z[0]).toBe(3);
    const onboard = { translation: [0, 0, 10], rotation: [0, 0, 0, 1] } as const;
    const estimate = prepare(poseSignal("vehicle_estimate", yUp), { frames: { ...frames, onboard } });
    expect(estimate.poses!.z[0]).toBe(13);
  });

  test("a block's own survey is stronger than the general one", () => {
    const general = { translation: [1, 0, 0], rotation: [0, 0, 0, 1] } as const;
    const day1 = { translation: [2, 0, 0], rotation: [0, 0, 0, 1] } as const;
    const surveyed = campaign({ frames: { ...frames, onboard: general, onboardByBlock: { day1 } } });
    expect(onboardOf(surveyed, oneRun)).toBe(day1);
    expect(onboardOf(surveyed, { ...oneRun, block: "day2" })).toBe(general);
    expect(onboardOf(surveyed, { ...oneRun, block: null })).toBe(general);
  });
});

test("a pose without attitude columns is a level one", () => {
  const { t, x, y, z } = noisyFlight(223, 100, 1);
  const prepared = prepare(signal({ at: t, columns: { x, y, z } }));
  expect([...new Set(prepared.poses!.qw)]).toEqual([1]);
  expect(prepared.faults).toEqual([]);
});

test("a pose without positions is no pose", () => {
  const { t, x, y } = noisyFlight(224, 100, 1);
  expect(prepare(signal({ at: t, columns: { x, y } })).poses!.t.length).toBe(0);
});
