import { expect, test } from "vitest";
import { commandOverPhase, magnified } from "../../client/figures/meanPathsFigure.ts";

/** A circle of 60 mm about (1, 2) m, a turn a second from t = 5 s on, sampled at 200 Hz; before it and after it the command rests. */
const turns = 3;
const t = Array.from({ length: 5 * 200 }, (_, k) => 4 + k / 200);
const angle = t.map((at) => (at < 5 || at >= 5 + turns ? 0 : 2 * Math.PI * (at - 5)));
const command = [
  {
    t,
    x: t.map(() => 0.5),
    y: angle.map((a) => 1 + 0.06 * Math.cos(a)),
    z: angle.map((a) => 2 + 0.06 * Math.sin(a)),
  },
];
const cycles = Array.from({ length: turns }, (_, k) => [5 + k, 6 + k] as const);

test("the commanded path is the circle that was commanded, and the rest before and after it does not enter", () => {
  const found = commandOverPhase(command, cycles, 40);
  // five samples a bin: their mean lies within the arc's sagitta of the circle, 60 mm (1 - cos(pi/40)) = 0.19 mm
  for (let bin = 0; bin < 40; bin++) {
    expect(found.x[bin]).toBeCloseTo(0.5, 12);
    const radius = Math.hypot(found.y[bin]! - 1, found.z[bin]! - 2);
    expect(radius).toBeLessThanOrEqual(0.06);
    expect(radius).toBeGreaterThan(0.06 * Math.cos(Math.PI / 40));
  }
});

test("a bin without a sample stays open", () => {
  const found = commandOverPhase([{ t: [5.1], x: [1], y: [2], z: [3] }], [[5, 6]], 4);
  expect(found.x).toEqual([1, null, null, null]);
});

test("magnified so many times, a path lies so many errors off its command", () => {
  const at = { x: [0, 0.1], y: [1, 1], z: [2, null] };
  const error = { x: [0.004, -0.002], y: [0, null], z: [0.001, 0.001] };
  const found = magnified(at, error, 10);
  expect(found.x[0]).toBeCloseTo(0.04, 12);
  expect(found.x[1]).toBeCloseTo(0.08, 12);
  expect(found.y).toEqual([1, null]);
  expect(found.z[1]).toBeNull();
});
