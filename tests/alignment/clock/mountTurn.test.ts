import { expect, test } from "vitest";
import { mountTurn, turnedBack } from "../../../src/alignment/clock/mountTurn.ts";
import type { RateGrid } from "../../../src/alignment/clock/rateGrid.ts";
import type { Vector3 } from "../../../src/foundation/units.ts";
import { rotateVector } from "../../../src/numeric/quaternion.ts";
import { seededRandom } from "../../../src/numeric/seededRandom.ts";
import { quaternionOfVector } from "../../../src/simulation/attitude.ts";

const n = 3000;
const at = {
  offset: 0,
  skew: 0,
  at: 0,
  offsetStandardError: 0,
  skewStandardError: 0,
  covariance: [0, 0, 0] as const,
};

/** Half a minute of turning about all three axes, with white noise; `seen` is what a sight makes of each rate. */
function grid(seen: (rate: Vector3) => Vector3, noise: number, seed: number): RateGrid {
  const draw = seededRandom(seed);
  const rates = [new Float64Array(n), new Float64Array(n), new Float64Array(n)] as const;
  for (let i = 0; i < n; i++) {
    const t = i / 100;
    const rate = seen([0.1 * Math.sin(4.1 * t), 0.08 * Math.sin(5.3 * t + 1), 0.03 * Math.sin(1.7 * t + 2)]);
    for (let axis = 0; axis < 3; axis++) rates[axis]![i] = rate[axis]! + noise * draw.normal();
  }
  return { start: 0, step: 0.01, rates, known: new Uint8Array(n).fill(1) };
}

const turn: Vector3 = [0.01, -0.052, 0.02];
const asFlown = (rate: Vector3): Vector3 => rate;
const turned = (rate: Vector3): Vector3 => rotateVector(quaternionOfVector(turn), rate);

test("a sight whose axes are turned by three degrees says so, to the square of the angle", () => {
  const found = mountTurn(grid(turned, 0, 1), grid(asFlown, 0, 1), at)!;
  // linear in the angle: what is left out is half its square
  for (let axis = 0; axis < 3; axis++) expect(Math.abs(found.turn[axis]! - turn[axis]!)).toBeLessThan(0.5 * 0.057 ** 2);
});

test("turned back by it the axes lie as the other's", () => {
  const other = turnedBack(grid(turned, 0, 1), [...turn] as [number, number, number]);
  const reference = grid(asFlown, 0, 1);
  // a rotation and its inverse: rounding
  for (let axis = 0; axis < 3; axis++)
    for (let i = 0; i < n; i += 97)
      expect(Math.abs(other.rates[axis]![i]! - reference.rates[axis]![i]!)).toBeLessThan(1e-12);
});

test("its standard errors hold the truth under noise, and of axes that are not turned nothing is clear", () => {
  let within = 0;
  let clear = 0;
  for (let seed = 0; seed < 40; seed++) {
    const { turn: found, standardErrors } = mountTurn(
      grid(asFlown, 0.02, 100 + seed),
      grid(asFlown, 0.02, 200 + seed),
      at,
    )!;
    for (let axis = 0; axis < 3; axis++) {
      if (Math.abs(found[axis]!) < 2 * standardErrors[axis]!) within++;
      if (Math.abs(found[axis]!) > 5 * standardErrors[axis]!) clear++;
    }
  }
  // 120 of which 95 % are to lie within two: 114, less three standard deviations of 2.4
  expect(within).toBeGreaterThan(106);
  expect(clear).toBe(0);
});

test("too short a record, or one that does not turn, says nothing", () => {
  const still = grid(() => [0, 0, 0], 0, 1);
  expect(mountTurn(still, still, at)).toBeNull();
  const short = { ...grid(asFlown, 0, 1), known: new Uint8Array(n).fill(1, 0, 500) };
  expect(mountTurn(short, short, at)).toBeNull();
});
