import { describe, expect, test } from "vitest";
import { CounterpoiseError } from "../../src/foundation/errors.ts";
import { mean, plainSumOfSquares } from "../../src/numeric/descriptive.ts";
import { seededRandom, xoshiro128 } from "../../src/numeric/seededRandom.ts";
import { describeWith } from "../support/available.ts";
import { runPython } from "../support/run.ts";

test("xoshiro128** from the state 1, 2, 3, 4 starts 11520, 0, 5927040, 70819200", () => {
  // exact arithmetic, by hand: rotl(2 x 5, 7) x 9 = 1280 x 9; then s1 = 0; then s1 = 1029, rotl(5145, 7) x 9 = 5927040; ...
  const next = xoshiro128([1, 2, 3, 4]);
  expect([next(), next(), next(), next()]).toEqual([11520, 0, 5927040, 70819200]);
});

describeWith(["scipy"], "against the definitions, written out in Python's whole numbers", () => {
  test("uniform() is splitmix-seeded xoshiro128**, two words to 53 bits", () => {
    const seeds = [0, 1, 2, 12345, 4294967295];
    const expected = runPython<number[][]>(
      `import json,sys
M=0xffffffff
def stream(seed,n):
    s=[]; c=seed
    for _ in range(4):
        c=(c+0x9e3779b9)&M; z=c
        z=((z^(z>>16))*0x21f0aaad)&M; z=((z^(z>>15))*0x735a2d97)&M; s.append(z^(z>>15))
    rot=lambda x,k: ((x<<k)|(x>>(32-k)))&M
    def word():
        r=(rot((s[1]*5)&M,7)*9)&M; t=(s[1]<<9)&M
        s[2]^=s[0]; s[3]^=s[1]; s[1]^=s[2]; s[0]^=s[3]; s[2]^=t; s[3]=rot(s[3],11)
        return r
    return [((word()>>5)*2**26+(word()>>6))/2**53 for _ in range(n)]
print(json.dumps([stream(s,200) for s in json.load(sys.stdin)]))`,
      seeds,
    );
    const found = seeds.map((seed) => {
      const random = seededRandom(seed);
      return Array.from({ length: 200 }, () => random.uniform());
    });
    expect(found).toEqual(expected);
  });

  test("uniform() and normal() pass scipy's Kolmogorov-Smirnov test, neighbours and seeds are unrelated", () => {
    const n = 50_000;
    const streams = [1, 2].map((seed) => {
      const random = seededRandom(seed);
      return {
        uniform: Float64Array.from({ length: n }, () => random.uniform()),
        normal: Float64Array.from({ length: n }, () => random.normal()),
      };
    });
    const p = runPython<number[]>(
      `import json,sys
from scipy.stats import kstest
print(json.dumps([float(kstest(v,k).pvalue) for k,v in json.load(sys.stdin)]))`,
      streams.flatMap(({ uniform, normal }) => [
        ["uniform", [...uniform]],
        ["norm", [...normal]],
      ]),
    );
    // four tests at fixed seeds; a wrong distribution gives p below 1e-6 at this n
    for (const value of p) expect(value).toBeGreaterThan(0.005);
    // a correlation of n unrelated pairs has a standard error of 1 / sqrt n = 0.0045; limit four of them
    for (const { uniform, normal } of streams) {
      for (const column of [uniform, normal]) {
        const middle = mean(column);
        const rest = column.map((value) => value - middle);
        const neighbours = rest.reduce((sum, value, i) => sum + value * (rest[i + 1] ?? 0), 0);
        expect(Math.abs(neighbours / plainSumOfSquares(rest))).toBeLessThan(0.018);
      }
    }
    const [one, two] = streams as [(typeof streams)[0], (typeof streams)[0]];
    const across = one.normal.reduce((sum, value, i) => sum + value * two.normal[i]!, 0) / n;
    expect(Math.abs(across)).toBeLessThan(0.018);
  });
});

describe("seededRandom", () => {
  test("gives the same numbers for the same seed, and others for another", () => {
    const draw = (seed: number): number[] => {
      const random = seededRandom(seed);
      return [random.uniform(), random.normal(), random.normal(), random.uniform()];
    };
    expect(draw(7)).toEqual(draw(7));
    expect(draw(7)).not.toEqual(draw(8));
  });

  test("refuses what is no seed", () => {
    for (const seed of [-1, 0.5, 2 ** 32, Number.NaN]) {
      expect(() => seededRandom(seed)).toThrow(CounterpoiseError);
      expect(() => seededRandom(seed)).toThrow(`found ${seed}`);
    }
  });
});
