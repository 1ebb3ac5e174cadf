import { describe, expect, test } from "vitest";
import { coarseOffset } from "../../../src/alignment/clock/coarseOffset.ts";
import { estimateClock } from "../../../src/alignment/clock/estimateClock.ts";
import { type MotionSight, sightOfAttitude, sightOfRate } from "../../../src/alignment/clock/motionSight.ts";
import { offsetAnywhere, searchOverlaps } from "../../../src/alignment/clock/offsetAnywhere.ts";
import { gridRates } from "../../../src/alignment/clock/rateGrid.ts";
import { defaultSettings } from "../../../src/contract/settings.ts";
import type { SignalName } from "../../../src/foundation/tracks.ts";
import { flightSettings } from "../../../src/simulation/flightSettings.ts";
import { type SimulatedFlight, simulateFlight } from "../../../src/simulation/simulateFlight.ts";
import { bandLimited, cyclic, seen } from "./motion.ts";

const options = { overlap: 5, smoothing: 0.04 };
const grid = (sight: MotionSight) => gridRates(sight, 0.01, 0.04);
const what = { clock: "mocap", signals: ["vehicle_pose", "vehicle_rate"], epochs: 0 } as const;
const anywhere = (that: MotionSight, reference: MotionSight) => offsetAnywhere(that, reference, what, defaultSettings);

/** As placed by the offset that was found anywhere. */
function estimated(that: MotionSight, reference: MotionSight) {
  const { offset } = anywhere(that, reference);
  const place = { near: offset!, search: 1, where: "at which they overlap", anywhere: true, hint: "give `near`" };
  return estimateClock("mocap", "gyro", that, reference, { ...place, ...what }, defaultSettings);
}

describe("the search over all overlaps", () => {
  test("finds in a long log the piece that another saw, wherever it lies", () => {
    const motion = bandLimited(301);
    const long = seen(motion, { rate: 200, from: 0, to: 400, rateNoise: 0.002, seed: 1 });
    for (const [from, offset] of [
      [0, 35],
      [60, -60],
      [250, -3000.25],
      // its last 10 s are not in the long log
      [370, 12.5],
    ] as const) {
      const piece = seen(motion, { rate: 100, from, to: from + 40, offset, noise: 7e-4, seed: 2 });
      const found = searchOverlaps(grid(piece), grid(long), options)!;
      // steps of 40 ms, and neither sight's samples on them
      expect(Math.abs(found.offset - offset)).toBeLessThan(0.04);
      expect(found.ahead).toBeGreaterThan(100);
      // less what the smoothing takes at either end
      expect(Math.abs(found.overlap - Math.min(40, 400 - from))).toBeLessThan(1);
    }
  });

  // what the Fourier transform sums at once, coarseOffset sums pair by pair
  test("weighs the agreement at an offset as the plain sums give it", () => {
    const motion = bandLimited(302);
    const that = grid(seen(motion, { rate: 100, from: 10, to: 60, offset: 0.123, noise: 2e-3, seed: 3 }));
    const reference = grid(seen(motion, { rate: 200, from: 0, to: 50, rateNoise: 0.01, seed: 4 }));
    const found = searchOverlaps(that, reference, options)!;
    const direct = coarseOffset(that, reference, { near: found.offset, search: 0.02, ...options })!;
    // at the same offset, the middle of three lags; the smoothing leaves one independent value per 2 s sqrt(pi)
    const independent = direct.overlap / (2 * 0.04 * Math.sqrt(Math.PI));
    const evidence = direct.axes.reduce((sum, r) => sum - (independent / 2) * Math.log(1 - r * r), 0);
    expect(direct.offset).toBeCloseTo(found.offset, 9);
    expect(found.overlap).toBeCloseTo(direct.overlap, 9);
    expect(Math.abs(found.evidence / evidence - 1)).toBeLessThan(1e-9);
  });

  test("finds nothing in records shorter than the least overlap", () => {
    const sight = seen(bandLimited(303), { rate: 100, from: 0, to: 4 });
    expect(searchOverlaps(grid(sight), grid(sight), options)).toBeNull();
  });
});

describe("an offset that is looked for anywhere", () => {
  test("is refused where the motion repeats itself and neither start nor stop is seen by both", () => {
    // one log saw cycles 0 to 40, the other ten of them: any ten
    const motion = cyclic(1.5);
    const { offset, check } = anywhere(
      seen(motion, { rate: 100, from: 20, to: 35, offset: 35, noise: 7e-4, seed: 5 }),
      seen(motion, { rate: 200, from: 0, to: 60, rateNoise: 0.002, seed: 6 }),
    );
    expect(offset).toBeNull();
    expect(check).toMatchObject({ code: "clock-ambiguous", severity: "unusable" });
    expect(check!.message).toMatch(/agree at -?\d+\.\d\d s about as well as at -?\d+\.\d\d s/);
    // two offsets of one motion are whole periods apart
    const periods = ((check!.evidence.rival_s as number) - (check!.evidence.offset_s as number)) / 1.5;
    expect(Math.abs(periods - Math.round(periods))).toBeLessThan(0.06);
  });

  test("is found from the starts and stops of the same cycles", () => {
    const motion = cyclic(1.5, [25, 40]);
    const that = seen(motion, { rate: 100, from: 10, to: 50, offset: 35, noise: 7e-4, seed: 5 });
    const { offset } = anywhere(that, seen(motion, { rate: 200, from: 0, to: 120, rateNoise: 0.002, seed: 6 }));
    expect(Math.abs(offset! - 35)).toBeLessThan(0.04);
  });

  test("is found to its standard error at either end of a log of twenty minutes, and with it no skew that is not there", () => {
    const motion = bandLimited(304);
    const long = seen(motion, { rate: 100, from: 0, to: 1200, rateNoise: 0.002, seed: 7 });
    for (const from of [5, 1150]) {
      const { estimate, checks } = estimated(
        seen(motion, { rate: 100, from, to: from + 40, offset: 35, noise: 7e-4, seed: 8 }),
        long,
      );
      expect(checks).toEqual([]);
      // offset at 0, and 1150 s of skew on top of it where the piece lies
      const there = estimate!.offset + (from + 20) * estimate!.skew;
      expect(Math.abs(there - 35)).toBeLessThan(2e-3);
      expect(Math.abs(estimate!.offset - 35)).toBeLessThan(4 * estimate!.offset_se!);
      expect(Math.abs(estimate!.skew)).toBeLessThan(4 * estimate!.skew_se!);
    }
  });

  test("is refused where nothing moved", () => {
    const still = () => [0, 0, 0] as const;
    const { check } = anywhere(
      seen(still, { rate: 100, from: 0, to: 40, noise: 7e-4, seed: 1 }),
      seen(still, { rate: 200, from: 0, to: 90, rateNoise: 0.01, seed: 2 }),
    );
    expect(check?.code).toBe("clock-ambiguous");
  });
});

const columnsOf = ({ signals }: SimulatedFlight, name: SignalName) => {
  const { stamped, columns } = signals.find(({ signal }) => signal === name)!;
  return { t: stamped!.seconds, columns: columns as Readonly<Record<string, Float64Array>> };
};
const captured = (flight: SimulatedFlight): MotionSight => {
  const { t, columns } = columnsOf(flight, "vehicle_pose");
  const [x, y, z, qx, qy, qz, qw] = ["x", "y", "z", "qx", "qy", "qz", "qw"].map((name) => columns[name]!);
  return sightOfAttitude({ t, x: x!, y: y!, z: z!, qx: qx!, qy: qy!, qz: qz!, qw: qw! }, 0.035);
};
const turned = (flight: SimulatedFlight): MotionSight => {
  const { t, columns } = columnsOf(flight, "vehicle_rate");
  return sightOfRate(t, [columns.wx!, columns.wy!, columns.wz!], 0.0175);
};

// the arm drives the same motion about x and z in every flight of a trajectory, the air another about y in each
describe.each([1, 0.2])("with %f of the usual air", (air) => {
  const settings = flightSettings({
    air: { force: [0.3 * air, 0.3 * air, 0.3 * air], torque: [0.06 * air, 0.06 * air, 0.02 * air] },
  });
  const flights = [311, 312, 313].map((seed) => simulateFlight(settings, seed));

  test("the logs of one flight are joined", () => {
    for (const flight of flights) {
      const { estimate } = estimated(captured(flight), turned(flight));
      // stamps count from whole seconds before and after the start: the capture's, 0.137 s behind, from one before it
      expect(Math.abs(estimate!.offset - 0.863)).toBeLessThan(5 * estimate!.offset_se!);
    }
  });

  test("those of two flights of one trajectory are not, however alike the arm moves them", () => {
    for (const [k, flight] of flights.entries()) {
      const other = captured(flights[(k + 1) % flights.length]!);
      const found = anywhere(other, turned(flight));
      const checks = found.check === null ? estimated(other, turned(flight)).checks : [found.check];
      expect(checks.map(({ code, severity }) => `${code} ${severity}`)).toEqual(["clock-ambiguous unusable"]);
      if (found.check === null) expect(checks[0]!.message).toContain("different flights");
    }
  });
});
