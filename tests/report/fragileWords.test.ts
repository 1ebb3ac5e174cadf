import { expect, test } from "vitest";
import { fragility } from "../../src/comparison/fragility.ts";

test("a permutation p above the level never reads as the level in the reason for a fragile verdict", () => {
  const reason = (permutationP: number, permutationLevel = 0.05): string =>
    fragility(
      { verdict: "steadier", runs: [], withoutOne: [], permutationP, verdictAllRuns: "steadier" },
      { permutationLevel, equivalenceError: 0.05 },
    ).join();
  const rests = "the verdict rests on the t distribution alone";
  // 6/119, and 1001 of the 20001 arrangements that are drawn: 0.0504202, 0.0500475
  expect(reason(6 / 119)).toBe(`the permutation p is 0.0504, above 0.05: ${rests}`);
  expect(reason(1001 / 20001)).toBe(`the permutation p is 0.05005, above 0.05: ${rests}`);
  expect(reason(0.0996, 0.01)).toBe(`the permutation p is 0.10, above 0.01: ${rests}`);
});
