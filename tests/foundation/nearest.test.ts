import fc from "fast-check";
import { expect, test } from "vitest";
import { editDistance, likelyName, nearestNames } from "../../src/foundation/nearest.ts";

// counted by hand: kitten -> sitten -> sittin -> sitting (Navarro 2001 uses the same unit costs)
test("edit distance counts insertions, deletions, replacements and swaps of neighbours", () => {
  expect(editDistance("kitten", "sitting")).toBe(3);
  expect(editDistance("raidus", "radius")).toBe(1);
  expect(editDistance("", "abc")).toBe(3);
  expect(editDistance("Radius", "rADIUS")).toBe(0);
});

test("edit distance is symmetric, zero for equals, and at most the longer length", () => {
  const word = fc.string({ maxLength: 12 }).map((text) => text.toLowerCase());
  fc.assert(
    fc.property(word, word, (a, b) => {
      const distance = editDistance(a, b);
      expect(distance).toBe(editDistance(b, a));
      expect(distance).toBeLessThanOrEqual(Math.max(a.length, b.length));
      expect(distance).toBeGreaterThanOrEqual(Math.abs(a.length - b.length));
      expect(editDistance(a, a)).toBe(0);
    }),
    { seed: 1, numRuns: 200 },
  );
});

test("the nearest names come first, equals in the order given, no more than asked for", () => {
  const topics = ["/imu", "/mocap/tool", "/mocap/airframe", "/imv"];
  expect(nearestNames("/mocap/airfame", topics, 2)).toEqual(["/mocap/airframe", "/mocap/tool"]);
  expect(nearestNames("/im", topics)).toEqual(["/imu", "/imv", "/mocap/tool", "/mocap/airframe"]);
  expect(nearestNames("x", [], 3)).toEqual([]);
});

test("a likely name is suggested only where it is near", () => {
  expect(likelyName("configuraton", ["configuration", "trajectory"])).toBe("configuration");
  expect(likelyName("banana", ["configuration", "trajectory"])).toBeNull();
  expect(likelyName("bear", ["weighted", "bare"])).toBe("bare");
  expect(likelyName("q", ["x", "y"])).toBeNull();
  expect(likelyName("anything", [])).toBeNull();
});

test("a name of a megabyte costs no more than one of 120 letters", () => {
  const start = performance.now();
  expect(likelyName("x".repeat(1_000_000), ["radius"])).toBeNull();
  expect(performance.now() - start).toBeLessThan(2000);
});
