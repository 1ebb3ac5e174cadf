import { describe, expect, test } from "vitest";
import { alternationCheck } from "../../src/alignment/alternation.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";

const n = 2000;

/** A body at 100 Hz by its place at each instant, metres. */
function track(at: (time: number, k: number) => readonly [number, number, number], step = 0.01) {
  const t = Float64Array.from({ length: n }, (_, k) => k * step);
  const places = Array.from(t, at);
  const of = (axis: number): Float64Array => Float64Array.from(places, (place) => place[axis]!);
  return { t, x: of(0), y: of(1), z: of(2) };
}

const check = (...args: Parameters<typeof track>) => alternationCheck("vehicle_pose", track(...args), defaultSettings);

describe("bodies in turn in one stream", () => {
  test.each([2, 3, 4])("%i of them, 30 mm apart along y, at 100 Hz in all", (bodies) => {
    const random = seededRandom(7);
    const [found] = check((time, k) => [
      0.3 * Math.sin(time) + 1e-4 * random.normal(),
      0.03 * (k % bodies),
      1 + 1e-4 * random.normal(),
    ]);
    expect(found).toMatchObject({ code: "swap", severity: "unusable", evidence: { bodies } });
    // from one to the next 30 mm, and along x at most 0.3 m/s for 10 ms: 3 mm
    expect(found!.evidence.change_1_m as number).toBeCloseTo(0.03, 3);
  });

  test("two, one of them always twice: the same over three", () => {
    const [found] = check((time, k) => [0.3 * Math.sin(time), k % 3 === 0 ? 0.1 : 0, 1]);
    expect(found?.evidence.bodies).toBe(3);
  });
});

describe("one body", () => {
  const random = seededRandom(11);
  const bodies: readonly (readonly [string, Parameters<typeof track>[0]])[] = [
    ["noise of 20 mm and no motion", () => [0.02 * random.normal(), 0.02 * random.normal(), 0.02 * random.normal()]],
    ["a circle of 0.5 m at 2 m/s", (time: number) => [0.5 * Math.cos(4 * time), 0.5 * Math.sin(4 * time), 1]],
    ["a shaking of 0.1 mm at 49 Hz", (time: number) => [1e-4 * Math.sin(2 * Math.PI * 49 * time), 0, 1]],
    ["at rest on a grid of 1 mm", (_: number, k: number) => [1e-3 * (k % 2), 0, 1]],
    ["every other place lost", (_: number, k: number) => [k % 2 === 0 ? Number.NaN : 1e-4 * random.normal(), 0, 1]],
  ];
  test.each(bodies)("%s", (_, at) => {
    expect(check(at)).toEqual([]);
  });

  test("a slow stream sees a fast swing once a half turn: no vehicle needs more than 10 g for it", () => {
    // 5 Hz, a swing of 50 mm at 2.5 Hz: (2 pi 2.5)^2 0.05 = 12 m/s^2
    expect(check((time) => [0.05 * Math.cos(2 * Math.PI * 2.5 * time), 0, 1], 0.2)).toEqual([]);
  });
});
