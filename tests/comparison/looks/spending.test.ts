import { describe, expect, test } from "vitest";
import { spentUpTo, thresholdAt } from "../../../src/comparison/looks/spending.ts";
import { spendingKinds } from "../../../src/contract/looksPlan.ts";
import { normalQuantile } from "../../../src/numeric/normal.ts";

const fifths = [0.2, 0.4, 0.6, 0.8, 1];
const critical = (p: number): number => -normalQuantile(p / 2);

describe("thresholds by spending", () => {
  // the values that programs for such boundaries print for five equal looks at 0.05, as quoted with Jennison and Turnbull, Group
  // Sequential Methods (2000); their grid leaves the second one off by 1e-4 (nested quadrature gives 3.35701)
  test("of O'Brien and Fleming's type at five equal looks are the published ones", () => {
    for (const [k, value] of [4.8769, 3.3569, 2.6803, 2.2898, 2.031].entries()) {
      const found = critical(thresholdAt("obrien-fleming", 0.05, fifths.slice(0, k + 1)));
      expect(Math.abs(found - value)).toBeLessThan(1.5e-4);
    }
  });

  // scipy 1.17.1: the walk's own integrals nested, one adaptive QUADPACK integral (`quad`) inside another at 1e-10, roots by
  // `brentq` at 1e-9; the level shared out as 4 sf(isf(a/4)/sqrt(t)) and a ln(1 + (e - 1) t)
  test.each([
    { kind: "obrien-fleming", level: 0.05, at: [0.3, 0.31, 0.9], values: [3.928572543, 3.915516018, 2.094122713] },
    { kind: "obrien-fleming", level: 0.05 / 12, at: [0.25, 0.5, 0.6], values: [6.045394699, 4.198677948, 3.821291698] },
    { kind: "pocock", level: 0.05 / 12, at: [0.25, 0.5, 0.6], values: [3.176807493, 3.214072964, 3.332039494] },
  ] as const)("of $kind at $level, looked at unequally, are those of an integral of another kind", (one) => {
    for (const [k, value] of one.values.entries()) {
      const found = critical(thresholdAt(one.kind, one.level, one.at.slice(0, k + 1)));
      expect(Math.abs(found - value)).toBeLessThan(3e-8);
    }
  });

  test.each(spendingKinds)("of %s rise with the level at every look, as a step-down among cells needs", (kind) => {
    const row = [0.25, 0.33, 0.5, 0.75, 1];
    const levels = [1e-6, 1e-4, 0.05 / 12, 0.05 / 6, 0.05 / 2, 0.05, 0.1, 0.3, 0.6, 0.9];
    for (let k = 1; k <= row.length; k++) {
      const found = levels.map((level) => thresholdAt(kind, level, row.slice(0, k)));
      for (let i = 1; i < found.length; i++) expect(found[i]!).toBeGreaterThan(found[i - 1]!);
    }
  });

  test.each(spendingKinds)("of %s at one look, at the end, are the level itself", (kind) => {
    expect(thresholdAt(kind, 0.05, [1])).toBeCloseTo(0.05, 12);
    expect(thresholdAt(kind, 0.05, [1.25])).toBeCloseTo(0.05, 12);
  });

  test.each(spendingKinds)("of %s after all is spent allow nothing more", (kind) => {
    expect(thresholdAt(kind, 0.05, [0.5, 1, 1.25])).toBe(0);
  });
});

describe("what may be spent", () => {
  test.each(spendingKinds)("%s: nothing at 0, the level at 1 and beyond, rising between", (kind) => {
    expect(spentUpTo(kind, 0.05, 0)).toBe(0);
    expect(spentUpTo(kind, 0.05, 1)).toBe(0.05);
    expect(spentUpTo(kind, 0.05, 1.5)).toBe(0.05);
    let last = 0;
    for (let t = 0.05; t < 1.001; t += 0.05) {
      const now = spentUpTo(kind, 0.05, t);
      expect(now).toBeGreaterThan(last);
      last = now;
    }
    expect(spentUpTo(kind, 0.05, 1 - 1e-12)).toBeCloseTo(0.05, 10);
  });

  test("a level that is none is refused", () => {
    expect(() => spentUpTo("pocock", 1.2, 0.5)).toThrow(expect.objectContaining({ code: "not-a-probability" }));
  });
});
