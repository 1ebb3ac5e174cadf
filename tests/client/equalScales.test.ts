import fc from "fast-check";
import { expect, test } from "vitest";
import { pathViews } from "../../client/figures/pathFigure.ts";
import { equalScales, pixelsPerMetre } from "../../client/figures/plainAxis.ts";

const span = fc
  .tuple(fc.double({ min: -5, max: 5, noNaN: true }), fc.double({ min: 0, max: 3, noNaN: true }))
  .map(([low, size]): [number, number] => [low, low + size]);
const extent = fc.record({ across: span, up: span });

test("a metre across is as many pixels as a metre up, in every panel, and everything fits", () => {
  fc.assert(
    fc.property(fc.array(extent, { minLength: 1, maxLength: 3 }), (extents) => {
      const size = { width: 490, height: 370 };
      const perMetre = pixelsPerMetre(extents, { ...size, least: 1e-3 });
      for (const one of extents) {
        const { x, y } = equalScales(one, { ...size, perMetre });
        // roundings only
        expect(Math.abs((x(1) - x(0)) / perMetre - 1)).toBeLessThan(1e-9);
        expect(Math.abs((y(0) - y(1)) / perMetre - 1)).toBeLessThan(1e-9);
        for (const value of one.across) {
          expect(x(value)).toBeGreaterThanOrEqual(0);
          expect(x(value)).toBeLessThanOrEqual(size.width);
        }
        for (const value of one.up) {
          expect(y(value)).toBeGreaterThanOrEqual(0);
          expect(y(value)).toBeLessThanOrEqual(size.height);
        }
      }
    }),
    { seed: 6, numRuns: 300 },
  );
});

test("a path that does not move is shown in a panel of a size, not of none", () => {
  const still = { across: [1, 1], up: [2, 2] } as const;
  const perMetre = pixelsPerMetre([still], { width: 100, height: 100, least: 1e-3 });
  expect(Number.isFinite(perMetre)).toBe(true);
  expect(equalScales(still, { width: 100, height: 100, perMetre }).x(1)).toBeCloseTo(50, 9);
});

test("a circle is seen in its plane first, a line along itself, and one view always has z up", () => {
  const axesOf = (shape: Parameters<typeof pathViews>[0]): string[] =>
    pathViews(shape).map(({ across, up }) => `${across}${up}`);
  expect(axesOf({ plane: "yz", axis: null })).toEqual(["yz", "xz"]);
  expect(axesOf({ plane: "xy", axis: null })).toEqual(["xy", "xz"]);
  expect(axesOf({ plane: "xz", axis: null })).toEqual(["xz", "yz"]);
  expect(axesOf({ plane: null, axis: "x" })).toEqual(["xy", "xz"]);
  expect(axesOf({ plane: null, axis: "y" })).toEqual(["xy", "yz"]);
  expect(axesOf({ plane: null, axis: "z" })).toEqual(["xz", "yz"]);
  expect(axesOf({ plane: null, axis: null })).toEqual(["xy", "xz"]);
});
