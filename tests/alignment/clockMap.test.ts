import { describe, expect, test } from "vitest";
import type { TimedSignal } from "../../src/alignment/clock/sights.ts";
import { mapClocks } from "../../src/alignment/clockMap.ts";
import { prepareSignal } from "../../src/alignment/timedSignals.ts";
import type { ClockRule } from "../../src/contract/campaign.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import type { RecordedSignal } from "../../src/foundation/recording.ts";
import type { SignalName } from "../../src/foundation/tracks.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { receiptTimes } from "../../src/simulation/timeline.ts";
import { bandLimited, cyclic } from "./clock/motion.ts";
import { campaign, evenTimes, oneRun, poseSignal, poses, signal, someDate, source, stamps, turn } from "./signals.ts";

const runEpoch = someDate;
const second = 1_000_000_000n;

function withClock(rule: ClockRule, signals: Partial<Record<SignalName, "mocap" | "onboard">> = {}) {
  return campaign({
    clocks: { reference: "onboard", others: { mocap: rule } },
    signals: Object.fromEntries(Object.entries(signals).map(([name, clock]) => [name, source({ clock })])),
  });
}

const gyroPair: ClockRule = { kind: "same-motion", pair: ["vehicle_pose", "vehicle_rate"], search: 2, near: null };
const pairClocks = { vehicle_pose: "mocap", vehicle_rate: "onboard" } as const;

/** A capture of a motion about all three axes, whose clock shows true time + offset, from an epoch of its own. */
function capture(
  offset: number,
  epoch: bigint,
  receivedEpoch = epoch,
  skew = 0,
  motion = bandLimited(231),
): RecordedSignal {
  const random = seededRandom(232);
  const t = evenTimes(100, 30);
  const track = poses(t, (time) => {
    const [roll, pitch, yaw] = motion(time);
    const size = Math.hypot(roll, pitch, yaw) || 1;
    const noise = (): number => 2e-4 * random.normal();
    return { p: [noise(), noise(), 1.5 + noise()], q: turn([roll / size, pitch / size, yaw / size], size) };
  });
  const recorded = poseSignal("vehicle_pose", { ...track, t: t.map((time) => time + offset + skew * time) }, epoch);
  return {
    ...recorded,
    received: stamps(
      t.map((time) => time + 0.006),
      receivedEpoch,
    ),
  };
}

/** The gyro that flew along: body rate of the same motion by differences of the rotation vector, small angles. */
function gyro(scale = 1, motion = bandLimited(231)): RecordedSignal {
  const h = 1e-4;
  const t = evenTimes(200, 30);
  const rate = (axis: 0 | 1 | 2): Float64Array =>
    t.map((time) => {
      const v = motion(time);
      const d = motion(time + h).map((value, i) => (value - motion(time - h)[i]!) / (2 * h)) as [
        number,
        number,
        number,
      ];
      // body rate of exp(v): v' - (v x v') / 2 to second order; angles are hundredths
      const cross = [v[1] * d[2] - v[2] * d[1], v[2] * d[0] - v[0] * d[2], v[0] * d[1] - v[1] * d[0]];
      return scale * (d[axis] - cross[axis]! / 2);
    });
  return signal({
    signal: "vehicle_rate",
    topic: "/imu",
    at: t,
    epoch: someDate,
    columns: { wx: rate(0), wy: rate(1), wz: rate(2) },
  });
}

function maps(
  rule: ClockRule,
  recorded: readonly RecordedSignal[],
  clocks: Partial<Record<SignalName, "mocap" | "onboard">> = pairClocks,
) {
  const declared = withClock(rule, clocks);
  const prepared = new Map<SignalName, TimedSignal>(
    recorded.map((one) => [one.signal, prepareSignal(declared, oneRun, one, defaultSettings)]),
  );
  return mapClocks(declared, prepared, "onboard", runEpoch, defaultSettings);
}

describe("a declared offset", () => {
  test("is that clock's stamp minus the reference's: a clock that is 137 ms behind shows an instant earlier", () => {
    const map = maps({ kind: "offset", offset: -0.137 }, []).get("mocap")!;
    // true instant 10 s after the run's epoch: the clock shows 9.863
    expect(map.toRun(runEpoch)(9.863)).toBeCloseTo(10, 12);
    expect(map.estimate).toMatchObject({
      offset: -0.137,
      offset_se: null,
      skew: 0,
      skew_se: null,
      source: "declared",
      ambiguous: false,
    });
    expect(map.checks).toEqual([]);
    expect(map.covariance).toBeNull();
  });

  test("spans epochs: a clock that counts from a boot", () => {
    // the boot was 1760432390 s after 1970, the run started 10 s later: offset = 10 - 1760432400
    const map = maps({ kind: "offset", offset: 10 - 1_760_432_400 }, []).get("mocap")!;
    // doubles near 1.8e9 resolve 0.24 us
    expect(Math.abs(map.toRun(0n)(12.5) - 2.5)).toBeLessThan(5e-7);
  });
});

test("the reference clock only changes its epoch", () => {
  const map = maps({ kind: "offset", offset: 0 }, []).get("onboard")!;
  expect(map.toRun(runEpoch + 3n * second)(1.25)).toBe(4.25);
  expect(map.toRun(runEpoch + 1n)(0)).toBe(1e-9);
  expect(map.estimate).toBeNull();
});

describe("an offset from the same motion", () => {
  test("is found with the sign of a declared one, and the map takes stamps to the run", () => {
    const map = maps(gyroPair, [capture(-0.137, someDate), gyro()]).get("mocap")!;
    expect(map.checks).toEqual([]);
    expect(map.estimate!.source).toContain("gyro");
    // the third-order term of the body rate and the straight lines between samples: some 0.1 ms at most
    expect(Math.abs(map.estimate!.offset + 0.137)).toBeLessThan(2e-4);
    expect(Math.abs(map.toRun(someDate)(9.863) - 10)).toBeLessThan(2e-4);
    expect(map.covariance).not.toBeNull();
  });

  test("a clock that runs 200 ppm fast is brought back at either end of the run", () => {
    const map = maps(gyroPair, [capture(-0.137, someDate, someDate, 2e-4), gyro()]).get("mocap")!;
    expect(Math.abs(map.estimate!.skew - 2e-4)).toBeLessThan(2e-5);
    // true instants 1 and 29 s; taking the skew for its opposite would be 12 ms off at the end, leaving it out 6 ms
    for (const time of [1, 29]) {
      expect(Math.abs(map.toRun(someDate)(time - 0.137 + 2e-4 * time) - time)).toBeLessThan(4e-4);
    }
  });

  test("a gyro in degrees per second that is taken for radians is refused", () => {
    const map = maps(gyroPair, [capture(-0.137, someDate), gyro(180 / Math.PI)]).get("mocap")!;
    expect(map.estimate).toBeNull();
    expect(map.checks).toMatchObject([{ code: "clock-ambiguous", severity: "unusable" }]);
    expect(map.toRun(someDate)(1)).toBeNaN();
  });

  test("between a date and a boot is looked for where both were received together", () => {
    // the capture's machine booted 1000 s before the run: its stamps count from 0
    const map = maps(gyroPair, [capture(1000.137, 0n, someDate), gyro()]).get("mocap")!;
    expect(map.checks).toEqual([]);
    // offset = stamp - reference stamp = 1000.137 - 1760432400, in doubles
    expect(Math.abs(map.estimate!.offset - (1000.137 - 1_760_432_400))).toBeLessThan(3e-4);
    expect(Math.abs(map.toRun(0n)(1010.137) - 10)).toBeLessThan(2e-4);
  });

  test("between two dates that are an hour apart needs `near`", () => {
    const hourAhead = capture(0.25, someDate + 3600n * second, someDate);
    const lost = maps(gyroPair, [hourAhead, gyro()]).get("mocap")!;
    expect(lost.estimate).toBeNull();
    expect(lost.checks[0]!.hint).toContain("near");
    const found = maps({ ...gyroPair, near: 3600 }, [hourAhead, gyro()]).get("mocap")!;
    expect(Math.abs(found.estimate!.offset - 3600.25)).toBeLessThan(2e-4);
    expect(Math.abs(found.toRun(someDate + 3600n * second)(10.25) - 10)).toBeLessThan(2e-4);
  });

  test.each([
    ["where both show dates", gyroPair],
    ["about a declared `near`", { ...gyroPair, near: 0.5 }],
  ])("is not one cycle off %s: a search that misses it is refused, and says where the motion agrees", (_, rule) => {
    // cycles of 4 s from 6 to 24 s: 3 s less one cycle is within 2 s of 0 and of 0.5, and agrees by 14 s of 18
    const cycles = cyclic(4, [6, 24]);
    const map = maps(rule, [capture(3, someDate, someDate, 0, cycles), gyro(1, cycles)]).get("mocap")!;
    expect(map.estimate).toBeNull();
    expect(map.checks).toMatchObject([{ code: "clock-ambiguous", severity: "unusable" }]);
    // the offset that the capture was stamped with, to a step of the search
    expect(Math.abs(Number(map.checks[0]!.evidence.offset_s) - 3)).toBeLessThan(0.05);
  });

  test("of one recorder, one stamped since a boot and one by receipt, is looked for by receipt, whenever it begins", () => {
    const noStamp = { ...gyro(), stamped: null };
    // the capture's topic came up 8 s after the gyro's
    const whole = capture(1000.137, 0n, someDate);
    const from = whole.received.seconds.findIndex((t) => t >= 8);
    const cut = (column: Float64Array): Float64Array => column.slice(from);
    const late: RecordedSignal = {
      ...whole,
      received: { ...whole.received, seconds: cut(whole.received.seconds) },
      stamped: { ...whole.stamped!, seconds: cut(whole.stamped!.seconds) },
      columns: Object.fromEntries(Object.entries(whole.columns).map(([name, column]) => [name, cut(column)])),
    };
    const map = maps(gyroPair, [late, noStamp]).get("mocap")!;
    expect(map.estimate).not.toBeNull();
    // as above; the helper's gyro is received 2 ms after it was measured
    expect(Math.abs(map.estimate!.offset - (1000.137 - 1_760_432_400 - 0.002))).toBeLessThan(3e-4);
  });

  test.each([0.0008, 0.004])(
    "of a capture placed by receipt has a standard error that covers its delay (%f s)",
    (jitter) => {
      const whole = capture(0, someDate);
      // 6 ms at least, and an exponential hold-up: the gyro's own stamps are true
      const receipt = receiptTimes(whole.stamped!.seconds, 0.006, jitter, seededRandom(8));
      const map = maps(gyroPair, [{ ...whole, stamped: null, received: stamps(receipt) }, gyro()]).get("mocap")!;
      const { offset, offset_se: error, source } = map.estimate!;
      // the truth: both clocks are one, offset 0
      expect(offset).toBeGreaterThan(0.006);
      expect(Math.abs(offset)).toBeLessThan(2 * error!);
      expect(error!).toBeLessThan(0.012);
      expect(map.covariance![0]).toBeCloseTo(error! ** 2, 12);
      expect(source).toContain("includes the delay of receipt");
      const stampedMap = maps(gyroPair, [whole, gyro()]).get("mocap")!;
      expect(stampedMap.estimate!.offset_se!).toBeLessThan(1e-3);
      expect(stampedMap.estimate!.source).not.toContain("receipt");
    },
  );

  test("that is not found is reported in numbers of the stamps, not of the columns", () => {
    // both count from a boot of their own, and neither from the run's epoch
    const far = maps({ ...gyroPair, near: 40 }, [capture(-0.137, someDate), gyro()]).get("mocap")!.checks[0]!;
    // -0.137 - 40
    expect(far.message).toContain("-40.14 s from 40 s, the declared `near`");
    expect(far.evidence.near_s).toBeCloseTo(40, 9);
    const hour = maps(gyroPair, [capture(0.25, someDate + 3600n * second, someDate), gyro()]).get("mocap")!.checks[0]!;
    expect(hour.message).toContain("3600.25 s from 0 s (both clocks show dates)");
    expect(hour.evidence.near_s).toBeCloseTo(0, 9);
  });

  test("whole seconds in the epochs of both clocks change nothing", () => {
    const plain = maps(gyroPair, [capture(-0.137, someDate), gyro()]).get("mocap")!;
    const split = capture(-0.137 - 5, someDate + 5n * second, someDate);
    const shifted = maps(gyroPair, [split, gyro()]).get("mocap")!;
    // the same instants, five seconds moved from the column into the epoch: the smoothing grid stays, the digits of t move
    expect(shifted.estimate!.offset).toBeCloseTo(plain.estimate!.offset, 8);
  });

  test.each([
    ["vehicle_rate", [capture(0, someDate)]],
    ["vehicle_pose", [gyro()]],
  ] as const)("without %s in the run cannot be reported, and which is missing is said", (gone, recorded) => {
    const map = maps(gyroPair, recorded).get("mocap")!;
    expect(map.estimate).toBeNull();
    expect(map.checks).toMatchObject([{ code: "missing-signal", severity: "unusable", evidence: { missing: gone } }]);
    expect(map.toRun(someDate)(1)).toBeNaN();
  });
});

describe("attitude or position against the onboard estimate", () => {
  const pair: ClockRule = { kind: "same-motion", pair: ["vehicle_pose", "vehicle_estimate"], search: 2, near: null };
  const clocks = { vehicle_pose: "mocap", vehicle_estimate: "onboard" } as const;

  test("attitudes are used where both have them", () => {
    const estimate = { ...capture(0, someDate), signal: "vehicle_estimate" as const };
    const map = maps(pair, [capture(0.3, someDate), estimate], clocks).get("mocap")!;
    expect(map.estimate!.source).toBe("attitude against attitude; includes any delay of the estimator");
    expect(map.estimate!.offset).toBeCloseTo(0.3, 4);
  });

  test("positions alone are labelled with what they cannot tell", () => {
    const motion = bandLimited(233);
    const t = evenTimes(100, 30);
    const flight = (noise: number, seed: number, shift: number) => {
      const random = seededRandom(seed);
      const p = Array.from(t, (time) => motion(time).map((value) => value + noise * random.normal()));
      const column = (axis: number): Float64Array => Float64Array.from(p, (row) => row[axis]!);
      return signal({ at: t.map((time) => time + shift), columns: { x: column(0), y: column(1), z: column(2) } });
    };
    const map = maps(
      pair,
      [
        { ...flight(1e-4, 1, 0.3), signal: "vehicle_pose" },
        { ...flight(1e-4, 2, 0), signal: "vehicle_estimate" },
      ],
      clocks,
    ).get("mocap")!;
    expect(map.estimate!.source).toContain("includes any delay of the estimator");
    expect(Math.abs(map.estimate!.offset - 0.3)).toBeLessThan(4 * map.estimate!.offset_se!);
  });
});
