import { describe, expect, test } from "vitest";
import { PositionBook } from "../../src/comparison/permutationSums.ts";
import { hotellingTwoSample } from "../../src/comparison/synchronous/hotelling.ts";
import {
  type ComparedVectors,
  comparedVectors,
  type RunVectors,
} from "../../src/comparison/synchronous/meanVectors.ts";
import { vectorPermutation } from "../../src/comparison/synchronous/vectorPermutation.ts";
import { type SeededRandom, seededRandom } from "../../src/numeric/seededRandom.ts";
import { shareLimit } from "../metrics/samplingLimits.ts";
import { relativeError } from "../numeric/relativeError.ts";
import published from "../published/data/hotelling.json" with { type: "json" };
import { describeWith } from "../support/available.ts";
import { runR, rVector } from "../support/run.ts";

const columnsOf = (rows: readonly (readonly number[])[]): Float64Array[] =>
  rows[0]!.map((_, a) => Float64Array.from(rows, (row) => row[a]!));

/** Two samples without blocks, baseline first. */
function twoSamples(rows0: readonly (readonly number[])[], rows1: readonly (readonly number[])[]): ComparedVectors {
  const n = rows0.length + rows1.length;
  return comparedVectors({
    columns: columnsOf([...rows0, ...rows1]),
    candidate: Uint8Array.from({ length: n }, (_, i) => (i < rows0.length ? 0 : 1)),
    block: new Int32Array(n),
    blocks: 1,
  });
}

/** Vectors of a layout of blocks (baseline, candidate counts), correlated, blocks apart. */
function inventedVectors(layout: readonly (readonly [number, number])[], random: SeededRandom, p = 2): RunVectors {
  const rows: number[][] = [];
  const candidate: number[] = [];
  const block: number[] = [];
  layout.forEach(([n0, n1], b) => {
    const shift = Array.from({ length: p }, () => 2 * random.normal());
    for (let i = 0; i < n0 + n1; i++) {
      const common = random.normal();
      rows.push(shift.map((s, a) => s + 0.7 * common + (a + 1) * random.normal() + (i < n0 ? 0 : 0.8)));
      candidate.push(i < n0 ? 0 : 1);
      block.push(b);
    }
  });
  return {
    columns: columnsOf(rows),
    candidate: Uint8Array.from(candidate),
    block: Int32Array.from(block),
    blocks: layout.length,
  };
}

describe("published values", () => {
  test("paired: fuel with and without an additive, each car a block", () => {
    const { treated, control, paired } = published.fuel;
    // with one run of each in every block T2 is that of the differences against 0
    const runs = comparedVectors({
      columns: columnsOf([...control, ...treated]),
      candidate: Uint8Array.from({ length: 24 }, (_, i) => (i < 12 ? 0 : 1)),
      block: Int32Array.from({ length: 24 }, (_, i) => i % 12),
      blocks: 12,
    });
    const found = hotellingTwoSample(runs).test!;
    expect(relativeError(found.t2, paired.T2)).toBeLessThan(1e-10);
    expect(relativeError(found.f, paired.F)).toBeLessThan(1e-10);
    expect(relativeError(found.p, paired.p)).toBeLessThan(1e-10);
    expect([found.df1, found.df2]).toEqual(paired.df);
  });

  test("two samples: Johnson & Wichern, example 6.3, from samples that have its means and covariances", () => {
    const { m1, m2, S1, S2, T2 } = published.jw6_3;
    // four directions of vectors about the mean, scaled so that the n - 1 covariance comes out as printed
    const sample = (
      mean: readonly number[],
      [[a, b], [, c]]: readonly [readonly number[], readonly number[]],
      n: number,
    ): number[][] => {
      const root = [Math.sqrt(a!), b! / Math.sqrt(a!), Math.sqrt(c! - (b! * b!) / a!)];
      const scale = Math.sqrt((n - 1) / n);
      return Array.from({ length: n }, (_, i) => {
        const [u, v] = [i % 2 === 0 ? 1 : -1, i % 4 < 2 ? 1 : -1];
        return [mean[0]! + scale * root[0]! * u, mean[1]! + scale * (root[1]! * u + root[2]! * v)];
      });
    };
    const pair = (rows: number[][]): [number[], number[]] => [rows[0]!, rows[1]!];
    // 52 runs hold the four directions equally often; T2 grows with n0 n1/n
    const n = 52;
    const { test: found } = hotellingTwoSample(twoSamples(sample(m1, pair(S1), n), sample(m2, pair(S2), n)));
    expect((found!.t2 * 25) / 26).toBeCloseTo(T2, 2);
  });
});

describeWith(["r"], "against R's manova", () => {
  test("two samples and blocks, two to four components: T2, F and p", () => {
    const random = seededRandom(77);
    const layouts: (readonly [number, number])[][] = [
      [[5, 4]],
      [[8, 8]],
      [
        [3, 2],
        [2, 3],
      ],
      [
        [4, 4],
        [3, 3],
      ],
      [
        [2, 1],
        [1, 2],
        [3, 2],
      ],
    ];
    for (const layout of layouts) {
      for (const p of [2, 3]) {
        const vectors = inventedVectors(layout, random, p);
        const { test: found } = hotellingTwoSample(comparedVectors(vectors));
        if (found === null) continue;
        const frame = vectors.columns.map((column, a) => `y${a} <- ${rVector([...column])}`).join("\n");
        const cbind = vectors.columns.map((_, a) => `y${a}`).join(", ");
        const model = layout.length > 1 ? "block + side" : "side";
        const output = runR(`${frame}
          block <- factor(${rVector([...vectors.block])}); side <- ${rVector([...vectors.candidate])}
          fit <- summary(manova(cbind(${cbind}) ~ ${model}), test = "Hotelling-Lawley")
          row <- fit$stats["side", ]
          cat(format(c(row["Hotelling-Lawley"], row["approx F"], row["Pr(>F)"], fit$stats["Residuals", "Df"]), digits = 17), sep = "\\n")`);
        const [trace, f, pValue, df] = output as [number, number, number, number];
        // T2 is the residual degrees of freedom times the Hotelling-Lawley trace of one contrast
        expect(relativeError(found.t2, df * trace)).toBeLessThan(1e-9);
        expect(relativeError(found.f, f)).toBeLessThan(1e-9);
        expect(relativeError(found.p, pValue)).toBeLessThan(1e-8);
      }
    }
  });
});

const options = { exactUpTo: 100_000, drawn: 20_000, seed: 11 };
const permuted = (runs: ComparedVectors) => vectorPermutation(runs, { ...options, book: new PositionBook() })!;

/** All relabellings within blocks, T2 computed again for each: slow and plain. */
function plainPermutation(vectors: RunVectors): { p: number; count: number } {
  const runs = comparedVectors(vectors);
  const observed = hotellingTwoSample(runs).test!.t2;
  const n = runs.candidate.length;
  let count = 0;
  let extreme = 0;
  for (let mask = 0; mask < 2 ** n; mask++) {
    const candidate = Uint8Array.from({ length: n }, (_, i) => (mask >> i) & 1);
    let same = true;
    for (let b = 0; b < runs.flownBlocks; b++) {
      let difference = 0;
      for (let i = 0; i < n; i++) if (runs.flown[i] === b) difference += candidate[i]! - runs.candidate[i]!;
      if (difference !== 0) same = false;
    }
    if (!same) continue;
    count++;
    const { test: found } = hotellingTwoSample({ ...runs, candidate });
    if (found!.t2 >= observed * (1 - 1e-9)) extreme++;
  }
  return { p: extreme / count, count };
}

test("the permutation counts what computing T2 again for every relabelling counts", () => {
  const random = seededRandom(8);
  for (const layout of [
    [[4, 4]],
    [[3, 4]],
    [
      [2, 2],
      [2, 2],
    ],
    [
      [2, 1],
      [3, 3],
    ],
    [
      [3, 2],
      [1, 0],
      [2, 3],
    ],
    [
      [3, 0],
      [2, 4],
    ],
  ] as const) {
    for (let trial = 0; trial < 3; trial++) {
      const vectors = inventedVectors(layout, random);
      const { p, count } = plainPermutation(vectors);
      const found = permuted(comparedVectors(vectors));
      expect(found).toMatchObject({ exact: true, arrangements: count });
      expect(found.p).toBeCloseTo(p, 12);
      expect(found.p).toBeGreaterThanOrEqual(found.leastP - 1e-12);
    }
  }
  // 4 v 4: 70 arrangements of which the mirrored is as extreme; 3 v 4: 35, without a mirror
  expect(permuted(comparedVectors(inventedVectors([[4, 4]], random))).leastP).toBeCloseTo(2 / 70, 12);
  expect(permuted(comparedVectors(inventedVectors([[3, 4]], random))).leastP).toBeCloseTo(1 / 35, 12);
});

test("drawn arrangements give the exact p within their sampling error", () => {
  const vectors = comparedVectors(
    inventedVectors(
      [
        [5, 5],
        [3, 3],
      ],
      seededRandom(4),
    ),
  );
  const exact = permuted(vectors);
  const drawn = vectorPermutation(vectors, { exactUpTo: 10, drawn: 20_000, seed: 5, book: new PositionBook() })!;
  expect(drawn.exact).toBe(false);
  expect(Math.abs(drawn.p - exact.p)).toBeLessThan(shareLimit(20_000, exact.p));
});

test("the labelling that was flown counts among those drawn: of 99 none is as extreme, and p is 1 of 100, not 0", () => {
  const vectors = inventedVectors([[8, 8]], seededRandom(7));
  const columns = vectors.columns.map((column) => column.map((value, i) => value + 50 * vectors.candidate[i]!));
  const apart = comparedVectors({ ...vectors, columns });
  const drawn = vectorPermutation(apart, { exactUpTo: 10, drawn: 99, seed: 5, book: new PositionBook() })!;
  expect(drawn.p).toBe(1 / 100);
});

test("without a difference p is below 0.05 in 5 of 100 campaigns, by F and by permutation, with blocks and without", () => {
  const random = seededRandom(99);
  const trials = 1500;
  for (const layout of [
    [[5, 5]],
    [
      [3, 2],
      [2, 3],
    ],
  ] as const) {
    const below = { f: 0, permutation: 0 };
    for (let k = 0; k < trials; k++) {
      const vectors = inventedVectors(layout, random);
      const columns = vectors.columns.map((column) => column.map((value, i) => value - 0.8 * vectors.candidate[i]!));
      const runs = comparedVectors({ ...vectors, columns });
      if (hotellingTwoSample(runs).test!.p < 0.05) below.f++;
      if (permuted(runs).p < 0.05) below.permutation++;
    }
    expect(Math.abs(below.f / trials - 0.05)).toBeLessThan(shareLimit(trials, 0.05));
    // exact but discrete: never above
    expect(below.permutation / trials).toBeLessThan(0.05 + shareLimit(trials, 0.05));
  }
});

test("turning all vectors, scaling them or shuffling the runs changes neither T2 nor p", () => {
  const random = seededRandom(21);
  const vectors = inventedVectors(
    [
      [3, 2],
      [2, 3],
    ],
    random,
  );
  const base = comparedVectors(vectors);
  const { test: before } = hotellingTwoSample(base);
  const [x, y] = vectors.columns as [Float64Array, Float64Array];
  const [c, s] = [Math.cos(1.1), Math.sin(1.1)];
  const turned = [
    x.map((value, i) => 1e-3 * (c * value - s * y[i]!)),
    x.map((value, i) => 1e-3 * (s * value + c * y[i]!)),
  ];
  const order = [6, 2, 9, 0, 4, 1, 8, 3, 7, 5];
  const mixed: RunVectors = {
    columns: turned.map((column) => Float64Array.from(order, (i) => column[i]!)),
    candidate: Uint8Array.from(order, (i) => vectors.candidate[i]!),
    block: Int32Array.from(order, (i) => vectors.block[i]!),
    blocks: 2,
  };
  const after = comparedVectors(mixed);
  expect(relativeError(hotellingTwoSample(after).test!.t2, before!.t2)).toBeLessThan(1e-10);
  expect(permuted(after).p).toBe(permuted(base).p);
});

test("too few runs, or vectors on one line, give no test and no p", () => {
  const one = comparedVectors(inventedVectors([[1, 1]], seededRandom(1)));
  expect(hotellingTwoSample(one).test).toBeNull();
  const { columns, ...rest } = comparedVectors(inventedVectors([[4, 4]], seededRandom(2)));
  const line = { ...rest, columns: [columns[0]!, columns[0]!.map((value) => 2 * value)] };
  expect(hotellingTwoSample(line).test).toBeNull();
  expect(vectorPermutation(line, { ...options, book: new PositionBook() })).toBeNull();
});
