import { expect, test } from "vitest";
import { differenceRegion } from "../../client/figures/differenceFigure.ts";
import { hotellingTwoSample } from "../../src/comparison/synchronous/hotelling.ts";
import { comparedVectors } from "../../src/comparison/synchronous/meanVectors.ts";
import { unequalTwoSample } from "../../src/comparison/synchronous/unequalTwoSample.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";

/** As drawn: a difference of cos and sin with its test, of runs whose candidate is shifted. */
function effectOf(shift: number, counts: readonly [number, number], seed: number) {
  const random = seededRandom(seed);
  const candidate = [...Array<0>(counts[0]).fill(0), ...Array<1>(counts[1]).fill(1)];
  const cos = candidate.map((one) => one * shift + random.normal());
  const runs = comparedVectors({
    columns: [Float64Array.from(cos), Float64Array.from(candidate, (_, i) => 0.6 * cos[i]! + random.normal())],
    candidate: Uint8Array.from(candidate),
    block: new Int32Array(candidate.length),
    blocks: 1,
  });
  const { difference, test: pooled } = hotellingTwoSample(runs);
  const found = (counts[0] === counts[1] ? pooled : unequalTwoSample(runs, difference))!;
  const { covariance: v, ...hotelling } = found;
  const [a, b] = [difference[0]!, difference[1]!];
  return {
    axis: "x" as const,
    difference: { cos: a, sin: b, amplitude: Math.hypot(a, b), cov: [v[0]!, v[1]!, v[3]!] as [number, number, number] },
    hotelling,
  };
}

/** How far zero lies from the region's middle: 1 on its edge. */
function zeroIn({ mean: [u, v], ellipse }: ReturnType<typeof differenceRegion>): number {
  const { major, minor, angle } = ellipse!;
  const along = (u * Math.cos(angle) + v * Math.sin(angle)) / major;
  const across = (v * Math.cos(angle) - u * Math.sin(angle)) / minor;
  return along ** 2 + across ** 2;
}

// NIST/SEMATECH e-Handbook, table of the F distribution, 5 %: F(2, 7) = 4.737, three decimals. Five runs of each leave 8 - 1 degrees
test("zero lies as far out as F stands to the tabled quantile", () => {
  for (const seed of [1, 2, 3]) {
    const effect = effectOf(1.5, [5, 5], seed);
    expect(effect.hotelling.df2).toBe(7);
    expect(zeroIn(differenceRegion(effect)) / (effect.hotelling.f / 4.737)).toBeCloseTo(1, 3);
  }
});

test("the region leaves zero out exactly where p is below 0.05, whether counts are equal or not", () => {
  const sides = { out: 0, in: 0 };
  for (const counts of [
    [5, 5],
    [6, 4],
    [9, 4],
  ] as const)
    for (let seed = 0; seed < 40; seed++) {
      const effect = effectOf(1.4, counts, 100 + seed);
      const isOut = zeroIn(differenceRegion(effect)) > 1;
      expect(isOut, `${counts} ${seed}`).toBe(effect.hotelling.p < 0.05);
      sides[isOut ? "out" : "in"]++;
    }
  expect(Math.min(sides.out, sides.in)).toBeGreaterThan(20);
});

test("too few runs have a difference and no region", () => {
  const { hotelling: _hotelling, ...effect } = effectOf(1, [5, 5], 9);
  const { mean, ellipse } = differenceRegion({ ...effect, hotelling: null });
  expect(ellipse).toBeNull();
  // a cos(k theta + phi) = a cos phi cos k theta - a sin phi sin k theta
  expect(mean).toEqual([effect.difference.cos, -effect.difference.sin]);
});
