import { describe, expect, test } from "vitest";
import { walkBoundaries } from "../../src/numeric/walkBoundaries.ts";

const fifths = [0.2, 0.4, 0.6, 0.8, 1];

/** The probability of first leaving at each look that leads to these critical values, one look after another by bisection. */
function exitsOf(times: readonly number[], critical: readonly number[]): number[] {
  const exits: number[] = [];
  for (const [k, wanted] of critical.entries()) {
    let [low, high] = [0, 0.5];
    for (let turn = 0; turn < 50; turn++) {
      const middle = 0.5 * (low + high);
      if (walkBoundaries(times.slice(0, k + 1), [...exits, middle])[k]! > wanted) low = middle;
      else high = middle;
    }
    exits.push(0.5 * (low + high));
  }
  return exits;
}

const sum = (values: readonly number[]): number => values.reduce((total, value) => total + value, 0);

describe("published boundaries", () => {
  // C. Jennison, B. W. Turnbull, Group Sequential Methods (2000), tables 2.1 and 2.3: five equal looks, two-sided 0.05. A
  // critical value of four decimals leaves the sum open by 1e-5
  test("O'Brien and Fleming's five values leave 0.05 in all", () => {
    const exits = exitsOf(fifths, [4.5617, 3.2256, 2.6337, 2.2809, 2.0401]);
    expect(Math.abs(sum(exits) - 0.05)).toBeLessThan(1e-5);
  });

  test("Pocock's 2.4132, the same at each look, leaves 0.05 in all", () => {
    const exits = exitsOf(fifths, [2.4132, 2.4132, 2.4132, 2.4132, 2.4132]);
    expect(Math.abs(sum(exits) - 0.05)).toBeLessThan(1e-5);
  });
});

describe("an integral of another kind", () => {
  // scipy 1.17.1: multivariate_normal.cdf (A. Genz's algorithm) of the box inside under correlations sqrt(t_i / t_j), its root by
  // brentq. The integral's own error leaves 1e-5 of a critical value at these probabilities
  const cases = [
    {
      name: "Pocock's type at 0.05/12 and unequal steps",
      times: [0.25, 0.5, 0.6, 1],
      spent: (t: number) => (0.05 / 12) * Math.log(1 + (Math.E - 1) * t),
      critical: [3.176807, 3.214073, 3.332043, 3.16432],
    },
    {
      name: "Pocock's type at 0.05 and five equal steps",
      times: fifths,
      spent: (t: number) => 0.05 * Math.log(1 + (Math.E - 1) * t),
      critical: [2.437977, 2.426814, 2.410194, 2.396648, 2.385991],
    },
  ];
  test.each(cases)("$name", ({ times, spent, critical }) => {
    const exits = times.map((t, k) => spent(t) - (k === 0 ? 0 : spent(times[k - 1]!)));
    for (const [k, found] of walkBoundaries(times, exits).entries())
      expect(Math.abs(found - critical[k]!)).toBeLessThan(2e-5);
  });
});

describe("a boundary", () => {
  test("is the normal quantile at a single look, whatever the unit of time", () => {
    for (const time of [1e-6, 1, 40]) expect(walkBoundaries([time], [0.05])[0]).toBeCloseTo(1.959963984540054, 12);
  });

  test("depends on the ratios of times alone", () => {
    const exits = [0.01, 0.02, 0.03];
    const one = walkBoundaries([1, 2, 5], exits);
    for (const [k, value] of walkBoundaries([3, 6, 15], exits).entries()) expect(value).toBeCloseTo(one[k]!, 11);
  });

  test("is infinite where nothing may leave, and the next one as if it had not been looked at", () => {
    const [first, second] = walkBoundaries([0.4, 1], [0, 0.05]);
    expect(first).toBe(Number.POSITIVE_INFINITY);
    // the integral over all walks against the closed form
    expect(second).toBeCloseTo(1.959963984540054, 9);
  });

  test("is 0 where all that is inside may leave", () => {
    expect(walkBoundaries([0.5, 1], [0.4, 0.6])[1]).toBeCloseTo(0, 6);
  });

  test("right after another one lies between those of one look at the first share and at both", () => {
    // a hundredth apart: what leaves at the second look alone has had little time to, so its boundary lies far inside the first
    const [first, second] = walkBoundaries([0.99, 1], [0.02, 0.01]);
    expect(first).toBeCloseTo(2.3263478740408408, 10);
    expect(second!).toBeLessThan(2.3263478740408408);
    // no lower than the one look that leaves 3 % in all: every walk that is outside at the end left once
    expect(second!).toBeGreaterThan(2.1700903775845606);
  });

  test.each([
    ["times that do not rise", [1, 1], [0.1, 0.1]],
    ["a time of 0", [0], [0.1]],
    ["a negative probability", [1], [-0.1]],
    ["more than 1 in all", [1, 2], [0.6, 0.6]],
    ["unequal lengths", [1, 2], [0.1]],
    ["NaN", [1], [Number.NaN]],
  ])("refuses %s", (_, times, exits) => {
    expect(() => walkBoundaries(times, exits)).toThrow(expect.objectContaining({ code: "not-a-schedule" }));
  });
});
