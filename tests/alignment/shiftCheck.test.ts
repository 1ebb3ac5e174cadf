import { describe, expect, test } from "vitest";
import { shiftCheck } from "../../src/alignment/shiftCheck.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import type { PoseTrack } from "../../src/foundation/tracks.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { evenTimes, poses, turn } from "./signals.ts";

type At = (time: number, i: number) => { p: [number, number, number]; roll?: number };

/** A body at 1 m/s to and fro with 0.4 mm and 0.2 degrees of noise, and what `more` adds. */
function track(rate: number, seconds: number, more: At, seed = 5): PoseTrack {
  const random = seededRandom(seed);
  const noise = (): number => 4e-4 * random.normal();
  return poses(evenTimes(rate, seconds), (time) => {
    const { p, roll = 0 } = more(time, Math.round(time * rate));
    return {
      p: [0.5 * Math.sin(2 * time) + noise() + p[0], 1 + noise() + p[1], 2 + noise() + p[2]],
      q: turn([1, 0, 0], 0.1 * Math.sin(3 * time) + 0.0035 * random.normal() + roll),
    };
  });
}
const check = (rate: number, seconds: number, more: At, seed?: number) =>
  shiftCheck("vehicle_pose", track(rate, seconds, more, seed), 1 / rate, defaultSettings);
const still: [number, number, number] = [0, 0, 0];

describe("a pose that shifts and stays so is doubted", () => {
  test.each([50, 100, 240])("30 mm at %f Hz", (rate) => {
    const checks = check(rate, 30, (time) => ({ p: [0, time >= 17 ? 0.03 : 0, 0] }));
    expect(checks).toMatchObject([{ code: "jump", severity: "doubt", evidence: { signal: "vehicle_pose", count: 1 } }]);
    // three readings on either side, 0.4 mm each, and the bend of the way: 2 m/s^2 over 20 ms
    expect(Math.abs((checks[0]!.evidence.shift_m as number) - 0.03)).toBeLessThan(2e-3);
    expect(Math.abs((checks[0]!.evidence.at_s as number) - 17)).toBeLessThan(1.01 / rate);
  });

  test("5 degrees of attitude, the place unmoved", () => {
    const checks = check(100, 30, (time) => ({ p: still, roll: time >= 17 ? (5 * Math.PI) / 180 : 0 }));
    expect(checks).toMatchObject([{ code: "jump", severity: "doubt", evidence: { count: 1 } }]);
    // two attitudes of 0.2 degrees of noise: four standard errors
    expect(Math.abs((checks[0]!.evidence.shift_rad as number) - (5 * Math.PI) / 180)).toBeLessThan(0.02);
  });
});

describe("what is no shift", () => {
  test("noise and a brisk motion, however long one waits", () => {
    expect(check(240, 600, () => ({ p: still }))).toEqual([]);
    expect(check(50, 600, () => ({ p: still }), 6)).toEqual([]);
    expect(check(25, 600, () => ({ p: still }), 7)).toEqual([]);
  });

  test("a stray pose, which stands aside and is gone", () => {
    expect(check(100, 30, (_, i) => ({ p: [0, i === 1700 ? 0.03 : 0, 0], roll: i === 900 ? 0.09 : 0 }))).toEqual([]);
  });

  test("a knock that changes the speed by 1 m/s from one sample to the next", () => {
    for (const rate of [50, 100, 240])
      expect(check(rate, 30, (time) => ({ p: [0, Math.max(0, time - 17), 0] }))).toEqual([]);
  });

  test("frames missing from a fast motion, at any rate", () => {
    for (const rate of [30, 50, 100, 200])
      for (const missing of [1, 2, 3]) {
        const whole = track(rate, 30, (time) => ({ p: [0, 2.5 * Math.sin(1.2 * time), 0] }));
        const keep = Array.from(whole.t, (_, i) => i).filter((i) => i % 37 >= missing);
        const pick = (column: Float64Array): Float64Array => Float64Array.from(keep, (i) => column[i]!);
        const cut = Object.fromEntries(Object.entries(whole).map(([name, column]) => [name, pick(column)]));
        expect(shiftCheck("vehicle_pose", cut as unknown as PoseTrack, 1 / rate, defaultSettings)).toEqual([]);
      }
  });

  test("the noise of a poor capture: millimetres, degrees", () => {
    for (const [sd, angle] of [
      [2e-3, 0.01],
      [3e-3, 0.02],
      [5e-3, 0.035],
    ] as const)
      for (const rate of [50, 100, 240]) {
        const random = seededRandom(rate);
        const noisy = (): number => sd * random.normal();
        expect(
          check(rate, 120, () => ({ p: [noisy(), noisy(), noisy()], roll: angle * random.normal() })),
          `${sd} m, ${angle} rad, ${rate} Hz`,
        ).toEqual([]);
      }
  });

  test("a gap during which the body moved on", () => {
    const whole = track(100, 30, (time) => ({ p: [time >= 17 ? 0.3 : 0, 0, 0] }));
    const keep = Array.from(whole.t, (_, i) => i).filter((i) => i < 1690 || i > 1710);
    const pick = (column: Float64Array): Float64Array => Float64Array.from(keep, (i) => column[i]!);
    const cut = Object.fromEntries(Object.entries(whole).map(([name, column]) => [name, pick(column)]));
    expect(shiftCheck("vehicle_pose", cut as unknown as PoseTrack, 0.01, defaultSettings)).toEqual([]);
  });
});
