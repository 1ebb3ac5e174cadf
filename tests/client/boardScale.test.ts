import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { boardScale, roundTicks, runDistances } from "../../client/figures/boardScale.ts";
import { swarm } from "../../client/figures/cellSketch.ts";
import { inventedCell } from "./inventedCell.ts";

describe("the board's one scale", () => {
  test("holds every run, interval and smallest difference of all its cells, and 0", () => {
    const wide = inventedCell({
      values: [
        [0.0205, 0.0199],
        [0.0146, 0.0141],
      ],
      difference: -0.0058,
      ci95: [-0.0091, -0.0026],
    });
    const narrow = inventedCell({
      values: [
        [0.002, 0.0021],
        [0.0022, 0.0023],
      ],
      difference: 0.0002,
      ci95: [-0.0004, 0.0007],
    });
    const { domain, ticks } = boardScale([wide, narrow]);
    expect(domain[0]).toBeLessThan(-9.1);
    expect(domain[1]).toBeGreaterThan(1.5);
    expect(ticks).toContain(0);
    for (const tick of ticks) {
      expect(tick).toBeGreaterThanOrEqual(domain[0]);
      expect(tick).toBeLessThanOrEqual(domain[1]);
    }
  });

  test("counts runs from the mean of the baseline's, so that theirs even out at 0", () => {
    const cell = inventedCell({
      values: [
        [0.0041, 0.0047, 0.0038],
        [0.003, 0.0029, 0.0034],
      ],
      difference: -0.0011,
      ci95: null,
    });
    const distances = runDistances(cell);
    const sum = (role: string): number =>
      distances.filter((run) => run.role === role).reduce((total, { distance }) => total + distance, 0);
    // a sum of three numbers of 4e-3: rounding stays below 1e-17
    expect(Math.abs(sum("baseline"))).toBeLessThan(1e-17);
    expect(sum("candidate") / 3).toBeCloseTo(-0.0011, 12);
    expect(distances.map(({ run }) => run)).toEqual([...cell.baseline.runs, ...cell.candidate.runs]);
  });

  test("has a width even where nothing differs and nothing is declared", () => {
    const cell = inventedCell({ values: [[0.002], [0.002]], difference: null, ci95: null, smallest: null });
    const { domain } = boardScale([cell]);
    expect(domain[0]).toBeLessThan(0);
    expect(domain[1]).toBeGreaterThan(0);
  });

  test("ticks are round, even and few, and 0 is among them where it lies inside", () => {
    fc.assert(
      fc.property(
        fc.double({ min: -1000, max: 999, noNaN: true }),
        fc.double({ min: 1e-3, max: 1000, noNaN: true }),
        (from, width) => {
          const ticks = roundTicks([from, from + width], 6);
          expect(ticks.length).toBeLessThanOrEqual(7);
          expect(ticks.length).toBeGreaterThan(0);
          if (from <= 0 && from + width >= 0) expect(ticks.some((tick) => tick === 0)).toBe(true);
        },
      ),
      { seed: 7, numRuns: 300 },
    );
    expect(roundTicks([-9, 3], 6)).toEqual([-8, -6, -4, -2, 0, 2]);
  });
});

describe("points on a line", () => {
  test("do not hide each other where there is room, and none moves without need", () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 0, max: 100 }), { maxLength: 12 }), (at) => {
        const offsets = swarm(at, 7, 200);
        for (let i = 0; i < at.length; i++) {
          for (let j = 0; j < i; j++) {
            expect(Math.hypot(at[i]! - at[j]!, offsets[i]! - offsets[j]!)).toBeGreaterThanOrEqual(7 - 1e-9);
          }
        }
      }),
      { seed: 11, numRuns: 300 },
    );
    expect(swarm([0, 20, 40], 7, 7)).toEqual([0, 0, 0]);
  });
});
