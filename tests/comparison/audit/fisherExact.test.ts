import { expect, test } from "vitest";
import { fisherExact, lostApart } from "../../../src/comparison/audit/lossFindings.ts";
import { defaultSettings } from "../../../src/contract/settings.ts";
import { describeWith } from "../../support/available.ts";
import { runR } from "../../support/run.ts";

// R. A. Fisher, The Design of Experiments (1935), ch. 2: four of eight cups, one table of 70 has all four right; two-sided 2/70
test("the lady who tastes tea: all four cups right have p 1/35", () => {
  expect(fisherExact([4, 4], [0, 4])).toBeCloseTo(1 / 35, 14);
});

test("all alike, or none, or no run at all: nothing speaks of a difference", () => {
  expect(fisherExact([0, 5], [0, 9])).toBe(1);
  expect(fisherExact([5, 5], [9, 9])).toBe(1);
  expect(fisherExact([0, 0], [3, 7])).toBe(1);
});

test("what is no count is refused", () => {
  for (const wrong of [-1, 0.5, 6, Number.NaN]) {
    expect(() => fisherExact([wrong, 5], [1, 5])).toThrow(expect.objectContaining({ code: "not-a-count" }));
  }
});

describeWith(["r"], "Fisher's test against R", () => {
  test("fisher.test gives the same p for every table up to 7 v 7, and for some large ones", () => {
    const tables: [number, number, number, number][] = [];
    for (let n0 = 1; n0 <= 7; n0++)
      for (let n1 = n0; n1 <= 7; n1++)
        for (let a = 0; a <= n0; a++) for (let b = 0; b <= n1; b++) tables.push([a, n0, b, n1]);
    tables.push([3, 60, 12, 60], [40, 100, 61, 120], [0, 400, 9, 380], [150, 500, 149, 501]);
    const columns = [0, 1, 2, 3].map((k) => `c(${tables.map((table) => table[k]).join(",")})`);
    const expected = runR(
      `p <- mapply(function(a, n, b, m) fisher.test(matrix(c(a, n - a, b, m - b), 2))$p.value, ${columns.join(", ")})
       cat(format(p, digits = 17), sep = "\\n")`,
    );
    // both add hypergeometric probabilities in doubles: ten digits to spare
    for (const [i, [a, n0, b, n1]] of tables.entries())
      expect(Math.abs(fisherExact([a, n0], [b, n1]) / expected[i]! - 1), `${a}/${n0} ${b}/${n1}`).toBeLessThan(1e-10);
  });
});

// by hand, over 45 (2 of 10) ways: p = 2 * 10/45 = 0.44 for 2 of 5 v 0 of 5; over 210 (4 of 10): 2 * 5/210 = 0.048 for 4 v 0
test("losses stand apart by Fisher's p, or by a third of one side and none of the other", () => {
  const apart = (first: [number, number], second: [number, number]) => lostApart(first, second, defaultSettings);
  expect(apart([4, 5], [0, 5])).toMatchObject({ rule: "chance", p: expect.closeTo(10 / 210, 12) });
  expect(apart([2, 5], [0, 5])).toMatchObject({ rule: "one side", p: expect.closeTo(20 / 45, 12) });
  expect(apart([0, 3], [1, 3]).rule).toBe("one side");
  expect(apart([1, 4], [0, 4]).rule).toBeNull();
  expect(apart([2, 5], [1, 5]).rule).toBeNull();
  expect(apart([0, 5], [0, 5]).rule).toBeNull();
  // where the other configuration was not flown there is nothing to compare
  expect(apart([3, 3], [0, 0]).rule).toBeNull();
});
