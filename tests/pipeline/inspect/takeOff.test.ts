import { expect, test } from "vitest";
import type { PointTrack } from "../../../src/foundation/tracks.ts";
import { seededRandom } from "../../../src/numeric/seededRandom.ts";
import { upAsked, upOf } from "../../../src/pipeline/inspect/takeOff.ts";

/** Two seconds of every height at ten a second, along an axis with a sign; `noise` metres of a capture. */
function track(heights: readonly number[], axis: "x" | "y" | "z", sign = 1, noise = 2e-4): PointTrack {
  const random = seededRandom(3);
  const n = 20 * heights.length;
  const columns = { x: new Float64Array(n), y: new Float64Array(n), z: new Float64Array(n) };
  for (const [name, column] of Object.entries(columns))
    for (let i = 0; i < n; i++)
      column[i] =
        noise * random.normal() + (name === axis ? sign * aloft(heights[Math.floor(i / 20)]!, i, noise) : 0.4);
  return { t: Float64Array.from({ length: n }, (_, i) => i / 10), ...columns };
}
/** In the air a vehicle wanders by millimetres; a command does not. */
function aloft(height: number, i: number, noise: number): number {
  return height > 0.8 && noise > 0 ? height + 0.006 * Math.sin(i) : height;
}
const flown = [0, 0, 0.2, 0.5, 1, 1.5, 1.5, 1.5];
const landed = [...flown, 1, 0.5, 0.1, 0, 0];

test("a take-off shows which way is up, and so does a landing alone", () => {
  expect(upOf(track(flown, "z"))).toBe("z");
  expect(upOf(track(flown, "y"))).toBe("y");
  expect(upOf(track(flown, "z", -1))).toBe("down");
  expect(upOf(track(landed.slice(3), "y"))).toBe("y");
  // no world has x up, and none y down
  expect(upOf(track(flown, "x"))).toBeNull();
  expect(upOf(track(flown, "y", -1))).toBeNull();
});

test("a hover is no ground: a record that begins in the air and comes down is not upside down", () => {
  const wander = track([1.5, 1.5, 1.5, 1, 0.5, 0.2, 0, 0], "z");
  expect(upOf(wander)).toBe("z");
  // begun and ended in the air
  expect(upOf(track([1.5, 1.5, 1.1, 0.9, 0.9, 0.9], "z"))).toBeNull();
  expect(upOf(null)).toBeNull();
});

test("a setpoint stands still in the air as well: it tells only where it comes back to where it began", () => {
  expect(upAsked(track(landed, "z", -1, 0))).toBe("down");
  expect(upAsked(track([1.5, 1.5, 1.5, 0.5, 0.5, 0.5], "z", 1, 0))).toBeNull();
});
