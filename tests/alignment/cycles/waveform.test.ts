import { describe, expect, test } from "vitest";
import { movingStretches } from "../../../src/alignment/cycles/describeCommand.ts";
import { fitWaveform, refinePeriod, waveformAt, waveformExtent } from "../../../src/alignment/cycles/waveform.ts";
import { seededRandom } from "../../../src/numeric/seededRandom.ts";
import { evenTimes } from "../signals.ts";

const full = 2 * Math.PI;

function samples(period: number, seconds: number, noise = 0) {
  const random = seededRandom(151);
  const t = evenTimes(50, seconds, 3.3);
  const column = (f: (theta: number) => number): Float64Array =>
    t.map((time) => f((full * time) / period) + noise * random.normal());
  return {
    t,
    x: column(() => 0.1),
    y: column((theta) => 0.01 + 0.06 * Math.cos(theta) + 0.004 * Math.sin(3 * theta)),
    z: column((theta) => -0.2 + 0.05 * Math.sin(theta)),
  };
}

describe("harmonics of a command", () => {
  test("a sum of harmonics is reproduced, whether the stretch holds whole cycles or not", () => {
    for (const seconds of [15.08, 13.7]) {
      const data = samples(1.508, seconds);
      const wave = fitWaveform(data, 1.508, 4)!;
      // exact arithmetic but for least squares on a well-conditioned design
      expect(wave.residual).toBeLessThan(1e-12);
      expect(wave.centre[0]).toBeCloseTo(0.1, 12);
      expect(wave.centre[1]).toBeCloseTo(0.01, 12);
      expect(wave.centre[2]).toBeCloseTo(-0.2, 12);
      const [x, y, z] = waveformAt(wave, 40.123);
      const theta = (full * 40.123) / 1.508;
      expect(x).toBeCloseTo(0.1, 11);
      expect(y).toBeCloseTo(0.01 + 0.06 * Math.cos(theta) + 0.004 * Math.sin(3 * theta), 11);
      expect(z).toBeCloseTo(-0.2 + 0.05 * Math.sin(theta), 11);
    }
  });

  test("the extent is peak to peak per axis", () => {
    const [x, y, z] = waveformExtent(fitWaveform(samples(1.508, 15), 1.508, 4)!);
    expect(x).toBeCloseTo(0, 9);
    // 0.06 cos + 0.004 sin 3: by a fine search, 1e6 points
    let high = 0;
    for (let k = 0; k < 1e6; k++) {
      const theta = (full * k) / 1e6;
      high = Math.max(high, 0.06 * Math.cos(theta) + 0.004 * Math.sin(3 * theta));
    }
    // odd harmonics only: the trough is the peak's mirror. 720 points miss a peak by at most 0.06 (pi / 720)^2 / 2 x 10
    expect(Math.abs(y - 2 * high)).toBeLessThan(6e-6);
    expect(Math.abs(z - 0.1)).toBeLessThan(1e-6);
  });

  test("too few samples, or less than a cycle, give none or a poor one, never an exception", () => {
    const data = samples(1.508, 15);
    const few = { t: data.t.slice(0, 20), x: data.x.slice(0, 20), y: data.y.slice(0, 20), z: data.z.slice(0, 20) };
    expect(fitWaveform(few, 1.508, 7)).toBeNull();
  });
});

describe("the period of a command", () => {
  test("is found to a millionth without noise, from a guess 4 % off", () => {
    for (const guess of [1.508 * 0.96, 1.508 * 1.04, 1.508 * 1.001]) {
      expect(Math.abs(refinePeriod(samples(1.508, 20), guess, 0.1, 4) / 1.508 - 1)).toBeLessThan(1e-6);
    }
  });

  test("a guess that fits to the samples' own digits is kept bit by bit", () => {
    expect(refinePeriod(samples(1.508, 20), 1.508, 0.1, 4)).toBe(1.508);
  });

  test("is found to its standard error with a millimetre of noise", () => {
    // Cramer-Rao bound of a frequency: sd(f) = sqrt(6) s / (pi a T sqrt(n)) for one sine of amplitude a; here a = 0.06,
    // s = 1e-3, T = 20 s, n = 1000 give 2.05e-5 Hz of 0.663 Hz, 3.1e-5 of the period; four of them
    const found = refinePeriod(samples(1.508, 20, 1e-3), 1.53, 0.1, 4);
    expect(Math.abs(found / 1.508 - 1)).toBeLessThan(1.3e-4);
  });

  test("a long record is not caught in a side valley", () => {
    expect(Math.abs(refinePeriod(samples(1.508, 120), 1.508 * 1.03, 0.1, 4) / 1.508 - 1)).toBeLessThan(1e-6);
  });
});

describe("moving stretches", () => {
  const still = new Float64Array(10);
  const find = (x: number[], pause = 2) =>
    movingStretches({ t: Float64Array.from(x, (_, i) => i), x: Float64Array.from(x), y: still, z: still }, pause);

  test("run from the last sample at rest to the last that moved", () => {
    expect(find([0, 0, 0, 1, 2, 3, 3, 3, 3, 3])).toEqual([{ from: 2, to: 5 }]);
  });

  test("short pauses belong to the motion, long ones part it", () => {
    expect(find([0, 1, 1, 1, 2, 2, 2, 2, 2, 3])).toEqual([
      { from: 0, to: 4 },
      { from: 8, to: 9 },
    ]);
  });

  test("a step below a micrometre is rest", () => {
    expect(find([0, 5e-7, 1e-6, 5e-7, 0, 0, 0, 0, 0, 0])).toEqual([]);
  });

  test("a stretch in which nothing is known parts no motion: it may well have moved on", () => {
    expect(find([0, 1, Number.NaN, Number.NaN, Number.NaN, Number.NaN, 1, 2, 2, 2])).toEqual([{ from: 0, to: 7 }]);
    expect(find([])).toEqual([]);
  });
});
