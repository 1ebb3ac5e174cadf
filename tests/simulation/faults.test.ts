import { describe, expect, test } from "vitest";
import type { RecordedSignal } from "../../src/foundation/recording.ts";
import type { Fault } from "../../src/simulation/faults.ts";
import { flightSettings } from "../../src/simulation/flightSettings.ts";
import { simulateFlight } from "../../src/simulation/simulateFlight.ts";
import { signalOf } from "./signalOf.ts";

const settings = flightSettings({ timeline: { hold: 6 }, clock: { offset: 0, skew: 0 } });
const whole = simulateFlight(settings, 31);
const time = whole.truth.samples.time;
const broken = (...faults: Fault[]) => simulateFlight(flightSettings({ faults }, settings), 31);
const vehicle = signalOf(whole, "vehicle_pose");
const inside = (i: number, at: number, seconds: number): boolean => time[i]! >= at && time[i]! < at + seconds;
const names = ["x", "y", "z", "qx", "qy", "qz", "qw"];

/** Indices at which any column differs from the sound flight's. */
function changed(signal: RecordedSignal, sound: RecordedSignal): number[] {
  return Array.from(time.keys()).filter((i) =>
    Object.keys(sound.columns).some((name) => !Object.is(signal.columns[name]![i], sound.columns[name]![i])),
  );
}

describe("faults of the poses", () => {
  test("frozen: the last pose before the span is repeated, stamps go on, all else is untouched", () => {
    const flight = broken({ kind: "frozen", signal: "vehicle_pose", at: 9, seconds: 2.5 });
    const frozen = signalOf(flight, "vehicle_pose");
    const span = changed(frozen, vehicle);
    expect(span).toHaveLength(250);
    expect(span.every((i) => inside(i, 9, 2.5))).toBe(true);
    for (const name of names)
      for (const i of span) expect(frozen.columns[name]![i]).toBe(vehicle.columns[name]![span[0]! - 1]);
    expect(frozen.stamped).toEqual(vehicle.stamped);
    expect(signalOf(flight, "effector_pose")).toEqual(signalOf(whole, "effector_pose"));
    expect(flight.truth).toEqual({ ...whole.truth, resolved: flight.truth.resolved });
  });

  test("gap: the messages of the span are missing from the signals named, and only from them", () => {
    const flight = broken({ kind: "gap", signals: ["vehicle_pose", "effector_command"], at: 9, seconds: 0.6 });
    const gapped = signalOf(flight, "vehicle_pose");
    expect(gapped.columns.x).toHaveLength(time.length - 60);
    expect(gapped.received.seconds).toHaveLength(time.length - 60);
    const steps = gapped.stamped!.seconds.slice(1).map((value, i) => value - gapped.stamped!.seconds[i]!);
    expect(Math.max(...steps)).toBeCloseTo(0.61, 6);
    expect(
      signalOf(whole, "effector_command").columns.x!.length - signalOf(flight, "effector_command").columns.x!.length,
    ).toBe(30);
    expect(signalOf(flight, "effector_pose")).toEqual(signalOf(whole, "effector_pose"));
  });

  test.each([
    ["zero", 0],
    ["level", 1],
  ] as const)("zeroed with attitude %s: all zero but for w = %d", (attitude, w) => {
    const zeroed = signalOf(
      broken({ kind: "zeroed", signal: "effector_pose", at: 9, seconds: 0.2, attitude }),
      "effector_pose",
    );
    const span = changed(zeroed, signalOf(whole, "effector_pose"));
    expect(span).toHaveLength(20);
    for (const i of span) expect(names.map((name) => zeroed.columns[name]![i])).toEqual([0, 0, 0, 0, 0, 0, w]);
  });

  test.each([
    ["nan", Number.NaN],
    ["zero", 0],
    ["long", 1.7],
  ] as const)("bad quaternion %s: norm %d, position untouched", (value, norm) => {
    const bad = signalOf(
      broken({ kind: "bad-quaternion", signal: "vehicle_pose", at: 9, seconds: 0.1, value }),
      "vehicle_pose",
    );
    const span = changed(bad, vehicle);
    expect(span).toHaveLength(10);
    for (const i of span) {
      const found = Math.hypot(...["qx", "qy", "qz", "qw"].map((name) => bad.columns[name]![i]!));
      if (Number.isNaN(norm)) expect(found).toBeNaN();
      else expect(found).toBeCloseTo(norm, 12);
      expect(bad.columns.x![i]).toBe(vehicle.columns.x![i]);
    }
  });

  test("interpolated: a straight line between both ends, unit quaternions", () => {
    const filled = signalOf(
      broken({ kind: "interpolated", signal: "vehicle_pose", at: 9, seconds: 0.5 }),
      "vehicle_pose",
    );
    const span = changed(filled, vehicle);
    expect(span).toHaveLength(50);
    for (const name of ["x", "y", "z"]) {
      const column = filled.columns[name]!;
      const first = span[0]!;
      const slope = (vehicle.columns[name]![first + 50]! - vehicle.columns[name]![first - 1]!) / 51;
      for (const i of span) expect(column[i]! - column[i - 1]!).toBeCloseTo(slope, 13);
    }
    for (const i of span)
      expect(Math.hypot(...["qx", "qy", "qz", "qw"].map((name) => filled.columns[name]![i]!))).toBeCloseTo(1, 14);
  });

  test("jump: displaced during the span, back after it", () => {
    const jumped = signalOf(
      broken({ kind: "jump", signal: "vehicle_pose", at: 9, seconds: 0.3, by: [0.4, 0, -0.1] }),
      "vehicle_pose",
    );
    const span = changed(jumped, vehicle);
    expect(span).toHaveLength(30);
    for (const i of span) {
      expect(jumped.columns.x![i]! - vehicle.columns.x![i]!).toBeCloseTo(0.4, 14);
      expect(jumped.columns.y![i]).toBe(vehicle.columns.y![i]);
    }
  });

  test("swap: each body under the other's name during the span", () => {
    const flight = broken({ kind: "swap", at: 9, seconds: 0.4 });
    const effector = signalOf(whole, "effector_pose");
    const span = changed(signalOf(flight, "vehicle_pose"), vehicle);
    expect(span).toHaveLength(40);
    for (const name of names)
      for (const i of span) {
        expect(signalOf(flight, "vehicle_pose").columns[name]![i]).toBe(effector.columns[name]![i]);
        expect(signalOf(flight, "effector_pose").columns[name]![i]).toBe(vehicle.columns[name]![i]);
      }
  });
});

describe("faults of the stamps", () => {
  const stamps = (...faults: Fault[]): RecordedSignal => signalOf(broken(...faults), "vehicle_pose");
  const sound = vehicle.stamped!.seconds;

  test("duplicate: every second message of the span has the stamp before it", () => {
    const { seconds } = stamps({ kind: "duplicate-stamps", signal: "vehicle_pose", at: 9, seconds: 0.2 }).stamped!;
    const twice = Array.from(seconds.keys()).filter((i) => i > 0 && seconds[i] === seconds[i - 1]);
    expect(twice).toHaveLength(10);
    expect(twice.every((i) => inside(i, 9, 0.2))).toBe(true);
  });

  test("backward: the span's stamps are set back", () => {
    const { seconds } = stamps({ kind: "backward-stamps", signal: "vehicle_pose", at: 9, seconds: 0.2, by: 0.05 })
      .stamped!;
    const back = Array.from(seconds.keys()).filter((i) => seconds[i] !== sound[i]);
    expect(back).toHaveLength(20);
    for (const i of back) expect(sound[i]! - seconds[i]!).toBeCloseTo(0.05, 12);
    expect(seconds[back[0]!]!).toBeLessThan(seconds[back[0]! - 1]!);
  });

  test("1970: the same seconds from an epoch of zero; receipt stays", () => {
    const signal = stamps({ kind: "stamps-1970", signal: "vehicle_pose" });
    expect(signal.stamped).toEqual({ epoch: 0n, seconds: sound });
    expect(signal.received).toEqual(vehicle.received);
  });

  test("zero: no stamp at all, counted", () => {
    const signal = stamps({ kind: "zero-stamps", signal: "vehicle_pose" });
    expect(signal.stamped!.seconds.every(Number.isNaN)).toBe(true);
    expect(signal.zeroStamps).toBe(time.length);
    expect(vehicle.zeroStamps).toBe(0);
  });
});

describe("faults of the recording", () => {
  test("truncated: nothing is received after the middle of the cycle named", () => {
    const flight = broken({ kind: "truncated", cycle: 4.5 });
    const { cycleStart, period } = whole.truth;
    for (const signal of flight.signals) {
      const last = signal.received.seconds.at(-1)!;
      expect(last).toBeLessThan(cycleStart + 4.5 * period);
      expect(last).toBeGreaterThan(cycleStart + 4.5 * period - 0.6);
    }
  });

  test("missing: the signal is not there, the others are", () => {
    const flight = broken({ kind: "missing", signal: "vehicle_rate" });
    expect(flight.signals.map(({ signal }) => signal)).toEqual(
      whole.signals.map(({ signal }) => signal).filter((name) => name !== "vehicle_rate"),
    );
  });

  test("gyro axes: columns taken from other axes with signs", () => {
    const wrong = signalOf(broken({ kind: "gyro-axes", axis: [1, 0, 2], sign: [1, -1, 1] }), "vehicle_rate").columns;
    const right = signalOf(whole, "vehicle_rate").columns;
    expect(wrong.wx).toEqual(right.wy);
    expect(wrong.wy).toEqual(right.wx!.map((value) => -value));
    expect(wrong.wz).toEqual(right.wz);
  });

  test("several faults add up, and a fault of a signal that is gone does nothing", () => {
    const flight = broken(
      { kind: "missing", signal: "effector_pose" },
      { kind: "frozen", signal: "effector_pose", at: 9, seconds: 1 },
      { kind: "gap", signals: ["vehicle_pose"], at: 9, seconds: 1 },
    );
    expect(flight.signals.some(({ signal }) => signal === "effector_pose")).toBe(false);
    expect(signalOf(flight, "vehicle_pose").columns.x).toHaveLength(time.length - 100);
  });
});

test("a capture with y up shows height as y and forward as x, right-handed", () => {
  const up = signalOf(
    simulateFlight(flightSettings({ frames: { worldUp: "y" } }, settings), 31),
    "vehicle_pose",
  ).columns;
  // (x, y, z) with z up is (x, z, -y) with y up; noise is drawn before the turn, so the same numbers come out
  for (const i of [0, 500, 1500]) {
    expect(up.x![i]).toBeCloseTo(vehicle.columns.x![i]!, 14);
    expect(up.y![i]).toBeCloseTo(vehicle.columns.z![i]!, 14);
    expect(up.z![i]).toBeCloseTo(-vehicle.columns.y![i]!, 14);
  }
});
