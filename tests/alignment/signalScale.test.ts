import { expect, test } from "vitest";
import { scaleOf } from "../../src/alignment/signalScale.ts";
import { source } from "./signals.ts";

test.each([
  // by definition of the prefixes, and of the degree
  ["position", "m", 1],
  ["position", "mm", 1e-3],
  ["position", "cm", 1e-2],
  ["rate", "rad/s", 1],
  ["rate", "deg/s", Math.PI / 180],
] as const)("a %s in %s counts %f in SI", (quantity, unit, factor) => {
  expect(scaleOf(source({ units: { [quantity]: unit } }), quantity)).toBeCloseTo(factor, 15);
});

test("what declares no unit is in SI, and the unit of one quantity is not another's", () => {
  expect(scaleOf(undefined, "position")).toBe(1);
  expect(scaleOf(source(), "rate")).toBe(1);
  expect(scaleOf(source({ units: { rate: "deg/s" } }), "position")).toBe(1);
});

test("a unit that nobody knows is no number, never 1", () => {
  expect(scaleOf(source({ units: { position: "cubits" } }), "position")).toBeNaN();
});
