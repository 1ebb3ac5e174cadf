import { beforeAll, describe, expect, test } from "vitest";
import { subjects } from "../../src/foundation/tracks.ts";
import { flightSettings } from "../../src/simulation/flightSettings.ts";
import type { FlightChanges } from "../../src/simulation/flightShape.ts";
import { deviationLimits, meanAndSd, meanLimit, shareLimit } from "../metrics/samplingLimits.ts";
import { describeWith } from "../support/available.ts";
import { type Comparison, compareWithTruth } from "./againstTruth.ts";

const circle: FlightChanges = {};
const line: FlightChanges = {
  trajectory: { shape: "line", axis: "x", stroke: 0.15, period: 1.9, cycles: 12, rampIn: 0 },
};
const estimate: FlightChanges = { estimate: { rate: 50, positionNoise: 1e-3, attitudeNoise: 1e-3, delay: 0 } };

describe("25 flights of a circle", () => judge(circle, { runs: 25, first: 1 }));
describe("8 flights of a line", () => judge(line, { runs: 8, first: 501 }));
describeWith(["slow"], "200 flights of a circle", () => judge(circle, { runs: 200, first: 1001, strict: true }));
describeWith(["slow"], "200 flights of a line", () => judge(line, { runs: 200, first: 2001, strict: true }));
// An attitude estimate of 1 mrad at 50 Hz tells less than a gyro: 40 s of a wander of some 0.03 rad/s place an offset to
// 1.2 mrad / (0.03 rad/s root 2000) = 0.9 ms at best, twice that at the run's start where a skew is found too
describeWith(["slow"], "100 flights with an onboard estimate for the clock", () =>
  judge(estimate, { runs: 100, first: 3001, captureClock: "estimate", offsetLimit: 1.8e-3 }),
);

interface Trial {
  readonly runs: number;
  readonly first: number;
  /** the asked limits themselves for pooled figures, without allowance for sampling */
  readonly strict?: boolean;
  readonly captureClock?: "gyro" | "estimate";
  /** root mean square of the clock offset's error, seconds; asked for: 1 ms */
  readonly offsetLimit?: number;
}

/** Every number that the evaluation gives for these flights, against the truth of the simulation. */
function judge(changes: FlightChanges, trial: Trial): void {
  const { runs, first, strict = false, captureClock = "gyro", offsetLimit = 1e-3 } = trial;
  const all: Comparison[] = [];
  beforeAll(async () => {
    const settings = flightSettings(changes);
    for (let seed = first; seed < first + runs; seed++) all.push(await compareWithTruth(settings, seed, captureClock));
  }, 600_000);

  /** Asked: mean within 0.25, sd 0.85 to 1.15. `tests` figures of n values are looked at together; none for the plain limits. */
  function expectStandard(values: readonly number[], tests: number | null, what: string): void {
    const { mean, sd } = meanAndSd(values);
    const [low, high] = tests === null ? [1, 1] : deviationLimits(values.length, tests);
    expect(sd, `${what}: sd`).toBeGreaterThan(0.85 * low);
    expect(sd, `${what}: sd`).toBeLessThan(1.15 * high);
    const allowed = tests === null ? 0 : meanLimit(values.length, 1, tests);
    expect(Math.abs(mean), `${what}: mean`).toBeLessThan(0.25 + allowed);
  }

  test("the clock offset is within its limit, root mean square, and its standard error is honest", () => {
    const squares = all.reduce((sum, { offsetError }) => sum + offsetError ** 2, 0);
    // the mean square of n values has a chi-square sampling error; widened for the small suite only
    const [, high] = strict ? [1, 1] : deviationLimits(runs);
    expect(Math.sqrt(squares / runs)).toBeLessThan(offsetLimit * high);
    expectStandard(
      all.map(({ offsetZ }) => offsetZ),
      2,
      "offset",
    );
    expectStandard(
      all.map(({ skewZ }) => skewZ),
      2,
      "skew",
    );
  });

  test("the cycles start where the command started them, to 1 ms, and are as many and as long as were flown", () => {
    for (const { seed, startError, periodRatio, cyclesFound, cyclesFlown } of all) {
      expect(Math.abs(startError), `seed ${seed}`).toBeLessThan(1e-3);
      // 1 ms over the 18 s of the cycles is 55 parts in a million
      expect(Math.abs(periodRatio - 1), `seed ${seed}`).toBeLessThan(5e-5);
      expect(cyclesFound, `seed ${seed}`).toBe(cyclesFlown);
    }
  });

  test("slopes of the hover: the interval holds the true one in 92 to 97 per cent, and its standard error is honest", () => {
    const slopes = all.flatMap((run) => run.slopes);
    const share = slopes.filter(({ covered }) => covered).length / slopes.length;
    const allowed = (p: number): number =>
      strict ? Math.sqrt((p * (1 - p)) / slopes.length) : shareLimit(slopes.length, p);
    expect(share).toBeGreaterThan(0.92 - allowed(0.92));
    expect(share).toBeLessThanOrEqual(0.97 + allowed(0.97));
    expectStandard(
      slopes.map(({ z }) => z),
      strict ? null : 1,
      "slope",
    );
  });

  test("each cosine and sine coefficient of vehicle, effector and arm: (found - true) / se", () => {
    const grouped = new Map<string, number[]>();
    for (const { coefficients } of all) {
      for (const { subject, axis, k, part, z } of coefficients) {
        const key = `${subject} ${axis} ${part} ${k}`;
        grouped.set(key, [...(grouped.get(key) ?? []), z]);
      }
    }
    expect(grouped.size).toBe(3 * 3 * 2 * 5);
    for (const [key, values] of grouped) expectStandard(values, grouped.size, key);
  });

  test("coefficients pooled over axes, by subject and harmonic", () => {
    for (const subject of subjects) {
      for (let k = 1; k <= 5; k++) {
        const values = all.flatMap(({ coefficients }) =>
          coefficients.filter((one) => one.subject === subject && one.k === k).map(({ z }) => z),
        );
        expectStandard(values, strict ? null : 15, `${subject} harmonic ${k}`);
      }
    }
  });

  test("rms by axis is that of the true error, the noise and what the clock's error makes of it", () => {
    for (const { seed, instantError, rms } of all) {
      for (const { subject, axis, found, known, noise, n } of rms) {
        // white noise adds its variance; the cross term has sd 2 known noise / root n in the mean square, so noise / root n in
        // the root: five of them. Stamps wrong by dt move the error by dt times the speed, 0.25 m/s at most in the circle and
        // 0.25 m/s in the line (0.15 m pi / 1.9 s), the vehicle's own well below; the arm's attitude noise turns with the arm: 3 %
        const expected = Math.hypot(known, noise);
        const allowed = (5 * noise) / Math.sqrt(n) + 0.25 * instantError + 0.03 * noise;
        expect(Math.abs(found - expected), `seed ${seed}: ${subject} ${axis}`).toBeLessThan(allowed);
        // asked: to a few noise sd
        expect(Math.abs(found - known)).toBeLessThan(3 * noise);
      }
    }
  });

  test("noise seen in flight is the capture's, within 5 per cent", () => {
    // third differences of 4000 poses: sampling sd 1.7 % a run and axis (see tests/metrics), 2 axes and 25 runs together
    const ratios = all.flatMap((run) => run.noiseRatios);
    expect(Math.abs(meanAndSd(ratios).mean - 1)).toBeLessThan(0.02);
    for (const ratio of ratios) expect(Math.abs(ratio - 1)).toBeLessThan(0.08);
  });
}
