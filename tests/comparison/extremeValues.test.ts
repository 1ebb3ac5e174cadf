import { expect, test } from "vitest";
import { runValues } from "../../src/comparison/cellRuns.ts";
import { blockedDifference, equivalenceP, welchDifference } from "../../src/comparison/estimateDifference.ts";
import { holm } from "../../src/comparison/judgeFamily.ts";
import { type GroupSums, groupSums, PositionBook } from "../../src/comparison/permutationSums.ts";
import { permutationTest } from "../../src/comparison/permutationTest.ts";

/** 4 v 3 runs on two days, metres times a scale. */
const runs = (scale: number): GroupSums =>
  groupSums(
    runValues(
      [1.1, 1.4, 1.2, 1.7, 2.3, 2.9, 2.2].map((value, i) => ({
        value: scale * value,
        candidate: i > 3,
        block: i % 2 === 0 ? "day1" : "day2",
      })),
    ),
  );

// a t test knows no unit: difference and standard error scale, degrees of freedom do not; 1e-12 is the rounding of the scaling
test.each([1e-90, 1e-60, 1e60, 1e100])("values of %d metres are judged as those of one metre are", (scale) => {
  for (const judge of [welchDifference, blockedDifference]) {
    const [plain, scaled] = [judge(runs(1))!, judge(runs(scale))!];
    expect(scaled.degreesOfFreedom / plain.degreesOfFreedom).toBeCloseTo(1, 12);
    expect(scaled.standardError / scale / plain.standardError).toBeCloseTo(1, 12);
    expect(scaled.difference / scale / plain.difference).toBeCloseTo(1, 12);
  }
});

test("a p that is no number is refused, and so is a margin that is none", () => {
  expect(() => holm([0.01, Number.NaN])).toThrow("holm found NaN at index 1");
  const estimate = welchDifference(runs(1))!;
  for (const margin of [0, -0.001, Number.NaN])
    expect(() => equivalenceP(estimate, margin)).toThrow(`equivalenceP requires a margin above 0, found ${margin}`);
});

// B. Phipson, G. K. Smyth, Stat. Appl. Genet. Mol. Biol. 9 (2010) 39: of m drawn arrangements of which b reach the observed one,
// (b + 1)/(m + 1) keeps the level and is never 0. Of the 184 756 ways to deal 10 v 10 only 2 reach this difference.
test("drawn arrangements count the one flown among them", () => {
  const apart = runValues(
    Array.from({ length: 20 }, (_, i) => ({
      value: i < 10 ? 1 + i / 1e3 : 2 + i / 1e3,
      candidate: i > 9,
      block: null,
    })),
  );
  const drawn = permutationTest(apart, "welch", { exactUpTo: 1, drawn: 19, seed: 1, book: new PositionBook() });
  expect(drawn).toMatchObject({ exact: false });
  expect(drawn.p).toBeCloseTo(1 / 20, 12);
});
