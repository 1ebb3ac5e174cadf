import { describe, expect, test } from "vitest";
import { coarseOffset } from "../../../src/alignment/clock/coarseOffset.ts";
import { estimateClock } from "../../../src/alignment/clock/estimateClock.ts";
import type { MotionSight } from "../../../src/alignment/clock/motionSight.ts";
import { gridRates } from "../../../src/alignment/clock/rateGrid.ts";
import { refineOffset } from "../../../src/alignment/clock/refineOffset.ts";
import { defaultSettings } from "../../../src/contract/settings.ts";
import { bandLimited, cyclic, seen } from "./motion.ts";

const somewhere = {
  epochs: 0,
  signals: ["vehicle_pose", "vehicle_rate"],
  anywhere: false,
  hint: "give `near`",
} as const;

function estimate(that: MotionSight, reference: MotionSight, near = 0, search = 2) {
  return estimateClock(
    "mocap",
    "gyro",
    that,
    reference,
    { ...somewhere, near, search, where: `within ${search} s of ${near} s` },
    defaultSettings,
  );
}
const codes = ({ checks }: ReturnType<typeof estimate>): string[] => checks.map(({ code }) => code);

describe("the offset between two clocks", () => {
  test.each([-0.137, 0, 0.0042, 1.61803])("without noise is exact: %f s", (offset) => {
    const motion = bandLimited(171);
    const that = seen(motion, { rate: 100, from: 0, to: 40, offset });
    const reference = seen(motion, { rate: 200, from: 0, to: 40 });
    const { estimate: found, checks } = estimate(that, reference);
    expect(checks).toEqual([]);
    // 0.05 ms: samples at 100 and 200 Hz are joined by straight lines, a sine of 2.5 Hz loses 0.3 % on the way and no phase
    expect(Math.abs(found!.offset - offset)).toBeLessThan(5e-5);
    expect(Math.abs(found!.skew)).toBeLessThan(5e-6);
  });

  test("is that clock minus the reference clock: a clock that is ahead has a positive one", () => {
    const motion = bandLimited(172);
    const ahead = seen(motion, { rate: 100, from: 0, to: 30, offset: 0.5 });
    expect(estimate(ahead, seen(motion, { rate: 200, from: 0, to: 30 })).estimate!.offset).toBeCloseTo(0.5, 4);
    expect(estimate(seen(motion, { rate: 200, from: 0, to: 30 }), ahead).estimate!.offset).toBeCloseTo(-0.5, 4);
  });

  test("with capture noise, gyro noise and gyro bias lies within four of its standard errors, and those are honest", () => {
    const scores: number[] = [];
    for (let seed = 0; seed < 12; seed++) {
      const motion = bandLimited(180 + seed);
      const that = seen(motion, {
        rate: 100,
        from: 0,
        to: 40,
        offset: -0.137,
        skew: 20e-6,
        noise: 7e-4,
        seed: 10 + seed,
        jitter: 0.3,
      });
      const reference = seen(motion, {
        rate: 200,
        from: 0,
        to: 40,
        rateNoise: 0.002,
        bias: [0.004, -0.003, 0.002],
        seed: 30 + seed,
      });
      const { estimate: found, covariance, checks } = estimate(that, reference);
      expect(checks).toEqual([]);
      expect(found!.offset_se!).toBeLessThan(2e-3);
      expect(Math.abs(found!.offset + 0.137)).toBeLessThan(4 * found!.offset_se!);
      // at the middle of the record, 20 s, offset and skew are nearly uncorrelated
      const [v00, v01, v11] = covariance!;
      const middle = found!.offset + 0.137 + 20 * (found!.skew - 20e-6);
      scores.push(middle / Math.sqrt(v00 + 40 * v01 + 400 * v11), (found!.skew - 20e-6) / found!.skew_se!);
    }
    expect(Math.max(...scores.map(Math.abs))).toBeLessThan(4);
    // 24 scores of unit variance: their mean square lies between 8.1 / 24 and 51.2 / 24 with probability 0.998 (chi-squared)
    const square = scores.reduce((sum, z) => sum + z * z, 0) / scores.length;
    expect(square).toBeGreaterThan(0.337);
    expect(square).toBeLessThan(2.13);
  });

  test("a gyro's bias, however large against the motion, moves nothing", () => {
    const motion = bandLimited(189);
    const that = seen(motion, { rate: 100, from: 0, to: 30, offset: 0.3 });
    const biased = seen(motion, { rate: 200, from: 0, to: 30, bias: [0.5, -0.5, 0.3] });
    // rates of the motion are some 0.1 rad/s; 0.05 ms as without a bias
    expect(Math.abs(estimate(that, biased).estimate!.offset - 0.3)).toBeLessThan(5e-5);
  });

  test("over ten minutes at 50 ppm the clocks drift 30 ms apart, and both numbers are found", () => {
    const motion = bandLimited(190);
    const that = seen(motion, { rate: 100, from: 0, to: 600, offset: 0.25, skew: 50e-6, noise: 3e-4, seed: 5 });
    const reference = seen(motion, { rate: 100, from: 0, to: 600, rateNoise: 0.002, seed: 6 });
    const { estimate: found, checks } = estimate(that, reference);
    expect(checks).toEqual([]);
    expect(Math.abs(found!.offset - 0.25)).toBeLessThan(4 * found!.offset_se!);
    expect(Math.abs(found!.skew - 50e-6)).toBeLessThan(4 * found!.skew_se!);
    expect(found!.skew_se!).toBeLessThan(2e-6);
  });

  test("a gap in one of the sights costs precision, not truth", () => {
    const motion = bandLimited(191);
    const whole = seen(motion, { rate: 100, from: 0, to: 40, offset: 0.3 });
    const keep = (column: Float64Array): Float64Array => column.filter((_, i) => i < 1200 || i >= 1500);
    const breaks = new Uint8Array(whole.t.length - 300);
    breaks[1200] = 1;
    const [x, y, z] = whole.integrals;
    const that = { t: keep(whole.t), integrals: [keep(x), keep(y), keep(z)] as const, breaks };
    const { estimate: found } = estimate(that, seen(motion, { rate: 200, from: 0, to: 40 }));
    expect(Math.abs(found!.offset - 0.3)).toBeLessThan(5e-5);
  });

  test("outside the search there is nothing to find; `near` brings it back", () => {
    const motion = bandLimited(192);
    const that = seen(motion, { rate: 100, from: 0, to: 40, offset: 7.5 });
    const reference = seen(motion, { rate: 200, from: 0, to: 40 });
    expect(estimate(that, reference).estimate).toBeNull();
    expect(codes(estimate(that, reference))).toEqual(["clock-ambiguous"]);
    expect(estimate(that, reference, 7).estimate!.offset).toBeCloseTo(7.5, 4);
  });

  test("less than five seconds in common are too few", () => {
    const motion = bandLimited(193);
    const found = estimate(seen(motion, { rate: 100, from: 0, to: 4 }), seen(motion, { rate: 200, from: 0, to: 40 }));
    expect(found.estimate).toBeNull();
    expect(found.checks[0]!.message).toContain("less than 5 s in common");
  });

  test("an empty sight is refused, not thrown at", () => {
    const none = new Float64Array(0);
    const empty = { t: none, integrals: [none, none, none] as const, breaks: new Uint8Array(0) };
    const found = estimate(empty, seen(bandLimited(194), { rate: 200, from: 0, to: 40 }));
    expect(found.estimate).toBeNull();
    expect(found.checks[0]!.severity).toBe("unusable");
  });
});

describe("an offset that the motion hardly shows", () => {
  // a tenth of a degree in all, and a gyro whose noise is as large as the motion's rate
  const calm = (seed: number) => {
    const motion = bandLimited(seed);
    return (t: number) => motion(t).map((angle) => 0.1 * angle) as unknown as readonly [number, number, number];
  };
  const found = (seed: number, rateNoise: number) =>
    estimate(
      seen(calm(seed), { rate: 100, from: 0, to: 30, offset: 0.2, noise: 3e-4, seed }),
      seen(calm(seed), { rate: 200, from: 0, to: 30, rateNoise, seed: seed + 50 }),
    );

  test("is doubted with its error, and not where the motion shows it", () => {
    const vague = found(240, 0.1);
    expect(vague.checks).toMatchObject([{ code: "clock-ambiguous", severity: "doubt" }]);
    const { offset_se_middle_s: middle, offset_se_end_s: end } = vague.checks[0]!.evidence;
    expect(middle as number).toBeGreaterThan(defaultSettings.clock_vague);
    expect(end as number).toBeGreaterThan(middle as number);
    expect(vague.checks[0]!.message).toContain(`${(1e3 * (middle as number)).toFixed(1)} ms`);
    expect(codes(found(240, 0.005))).toEqual([]);
  });
});

describe("cyclic motion", () => {
  // capture noise decides between cycles that are alike: without any, the last digit would
  const noisy = { noise: 7e-4, seed: 3 };
  const gyro = { rateNoise: 0.002, seed: 4 };

  test("without starts and stops repeats itself every period and is refused, not guessed at", () => {
    const motion = cyclic(1.508);
    const that = seen(motion, { rate: 100, from: 0, to: 30, offset: 0.2, ...noisy });
    const found = estimate(that, seen(motion, { rate: 200, from: 0, to: 30, ...gyro }));
    expect(found.estimate).toBeNull();
    expect(found.checks).toMatchObject([{ code: "clock-ambiguous", severity: "unusable" }]);
    expect(found.checks[0]!.evidence.second_peak_ratio as number).toBeGreaterThan(0.97);
  });

  test("with its start and stop in the record is distinguished", () => {
    const motion = cyclic(1.508, [10, 28]);
    const that = seen(motion, { rate: 100, from: 0, to: 40, offset: 0.2, ...noisy });
    const { estimate: found, checks } = estimate(that, seen(motion, { rate: 200, from: 0, to: 40, ...gyro }));
    expect(checks).toEqual([]);
    expect(Math.abs(found!.offset - 0.2)).toBeLessThan(Math.max(4 * found!.offset_se!, 5e-5));
    // twelve cycles, one more or less: eleven twelfths of the motion still agree
    expect(found!.second_peak_ratio!).toBeGreaterThan(0.7);
    expect(found!.ambiguous).toBe(false);
  });

  test("within a search narrower than its period is not ambiguous", () => {
    const motion = cyclic(1.508);
    const that = seen(motion, { rate: 100, from: 0, to: 30, offset: 0.2, ...noisy });
    const { estimate: found } = estimate(that, seen(motion, { rate: 200, from: 0, to: 30, ...gyro }), 0.1, 0.5);
    expect(Math.abs(found!.offset - 0.2)).toBeLessThan(4 * found!.offset_se!);
  });
});

describe("two sights that are not of one motion", () => {
  test.each([201, 202, 203])("are refused (seed %i)", (seed) => {
    const found = estimate(
      seen(bandLimited(seed), { rate: 100, from: 0, to: 40 }),
      seen(bandLimited(seed + 50), { rate: 200, from: 0, to: 40 }),
    );
    expect(found.estimate).toBeNull();
    expect(codes(found)).toEqual(["clock-ambiguous"]);
  });

  test("noise against noise is refused", () => {
    const still = () => [0, 0, 0] as const;
    const found = estimate(
      seen(still, { rate: 100, from: 0, to: 40, noise: 7e-4, seed: 1 }),
      seen(still, { rate: 200, from: 0, to: 40, rateNoise: 0.01, seed: 2 }),
    );
    expect(found.estimate).toBeNull();
  });

  test("one axis turned the other way is found and named", () => {
    const motion = bandLimited(205);
    const mirrored = (t: number) => {
      const [x, y, z] = motion(t);
      return [x, y, -z] as const;
    };
    const found = estimate(
      seen(mirrored, { rate: 100, from: 0, to: 40, offset: 0.1, noise: 3e-4, seed: 7 }),
      seen(motion, { rate: 200, from: 0, to: 40 }),
    );
    expect(found.checks).toMatchObject([{ code: "clock-axes-disagree", severity: "doubt" }]);
    expect(found.checks[0]!.message).toContain("axis z");
    expect(Math.abs(found.estimate!.offset - 0.1)).toBeLessThan(Math.max(4 * found.estimate!.offset_se!, 1e-3));
  });

  test("an axis that is 20 ms late (filtered) is found", () => {
    const motion = bandLimited(206);
    const late = (t: number) => [motion(t)[0], motion(t - 0.02)[1], motion(t)[2]] as const;
    const found = estimate(
      seen(late, { rate: 100, from: 0, to: 40, noise: 3e-4, seed: 7 }),
      seen(motion, { rate: 200, from: 0, to: 40 }),
    );
    expect(codes(found)).toEqual(["clock-axes-disagree"]);
    expect(found.checks[0]!.evidence.offset_y_s as number).toBeCloseTo(0.02, 3);
  });
});

describe("coarse and fine", () => {
  const motion = bandLimited(210);
  const grid = (sight: MotionSight) => gridRates(sight, 0.01, 0.04);
  const that = grid(seen(motion, { rate: 100, from: 0, to: 40, offset: 0.4321 }));
  const reference = grid(seen(motion, { rate: 200, from: 0, to: 40 }));
  const coarse = coarseOffset(that, reference, { near: 0, search: 2, overlap: 5, smoothing: 0.04 })!;

  test("the coarse search comes to within its grid of 40 ms, with full agreement on each axis", () => {
    expect(Math.abs(coarse.offset - 0.4321)).toBeLessThan(0.04);
    // 20 ms off at 1.3 Hz costs (2 pi 1.3 x 0.02)^2 / 2 = 1.3 %, at 2.5 Hz 5 %
    for (const agreement of coarse.axes) expect(agreement).toBeGreaterThan(0.94);
    expect(coarse.agreement).toBeLessThanOrEqual(1 + 1e-12);
    expect(coarse.secondPeakRatio).toBeLessThan(0.6);
  });

  test.each([4e-4, -4e-4])("a drift of %f over five minutes is found on the grid of drifts, with its sign", (skew) => {
    const drifting = grid(seen(motion, { rate: 100, from: 0, to: 300, offset: 0.2, skew }));
    const steady = grid(seen(motion, { rate: 100, from: 0, to: 300 }));
    const found = coarseOffset(drifting, steady, { near: 0, search: 2, overlap: 5, smoothing: 0.04 })!;
    // drifts are tried in steps of 40 ms over the record
    expect(Math.abs(found.skew - skew)).toBeLessThan(0.04 / 300);
    expect(Math.abs(found.offset - 0.2 - skew * found.at)).toBeLessThan(0.04);
  });

  test("the fine one to 0.05 ms, from anywhere near, with any one axis", () => {
    for (const start of [0.4, 0.42, 0.45, 0.5]) {
      const refined = refineOffset(that, reference, { offset: start, skew: 0, at: 20 }, 0)!;
      expect(Math.abs(refined.offset - 0.4321)).toBeLessThan(5e-5);
    }
    for (const axis of [0, 1, 2]) {
      expect(Math.abs(refineOffset(that, reference, coarse, 20, [axis])!.offset - 0.4321)).toBeLessThan(5e-5);
    }
  });

  test("its covariance is given for the instant asked for: moved there by offset + skew x time", () => {
    const noisyThat = grid(seen(motion, { rate: 100, from: 0, to: 40, offset: 0.4321, noise: 7e-4, seed: 8 }));
    const at0 = refineOffset(noisyThat, reference, coarse, 0)!;
    const at30 = refineOffset(noisyThat, reference, coarse, 30)!;
    expect(at30.offset).toBeCloseTo(at0.offset + 30 * at0.skew, 8);
    const [v00, v01, v11] = at0.covariance;
    // var(o + 30 s) = v00 + 60 v01 + 900 v11
    expect(at30.covariance[0] / (v00 + 60 * v01 + 900 * v11)).toBeCloseTo(1, 4);
    expect(at30.covariance[2] / v11).toBeCloseTo(1, 4);
    expect(at0.offsetStandardError).toBeCloseTo(Math.sqrt(v00), 12);
  });

  test("a start that is no neighbour of the truth is given up, or at most left by a peak's width of 0.15 s", () => {
    for (const start of [1.4, -0.6, 0.9]) {
      const refined = refineOffset(that, reference, { offset: start, skew: 0, at: 20 }, 20);
      expect(refined === null || Math.abs(refined.offset - start) <= 0.15).toBe(true);
    }
  });
});
