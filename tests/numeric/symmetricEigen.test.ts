import { expect, test } from "vitest";
import { NotFiniteError } from "../../src/foundation/errors.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { symmetricEigen } from "../../src/numeric/symmetricMatrix.ts";
import { describeWith } from "../support/available.ts";
import { runPython } from "../support/run.ts";

test("the matrix is left as it was, and [[2, 1], [1, 2]] has 1 and 3 along its diagonals", () => {
  const matrix = [
    [2, 1],
    [1, 2],
  ];
  const { values, vectors } = symmetricEigen(matrix);
  expect([...values].sort()).toEqual([expect.closeTo(1, 14), expect.closeTo(3, 14)]);
  // by hand: (1, 1) / sqrt(2) belongs to 3
  const [x, y] = vectors[values.indexOf(Math.max(...values))]!;
  expect(x! * y!).toBeCloseTo(0.5, 14);
  expect(matrix).toEqual([
    [2, 1],
    [1, 2],
  ]);
});

test("NaN and infinity are refused", () => {
  expect(() => symmetricEigen([[Number.NaN]])).toThrow(NotFiniteError);
  expect(() =>
    symmetricEigen([
      [1, Number.POSITIVE_INFINITY],
      [Number.POSITIVE_INFINITY, 1],
    ]),
  ).toThrow("symmetricEigen");
});

describeWith(["scipy"], "symmetricEigen against numpy", () => {
  test("on random matrices of 2 to 5 rows", () => {
    const random = seededRandom(651);
    const cases = Array.from({ length: 60 }, (_, k) => {
      const size = 2 + (k % 4);
      const raw = Array.from({ length: size }, () => Array.from({ length: size }, () => random.normal()));
      return raw.map((row, i) => row.map((_, j) => raw[i]![j]! + raw[j]![i]!));
    });
    const expected = runPython<number[][]>(
      "import json, sys, numpy\nprint(json.dumps([numpy.linalg.eigvalsh(m).tolist() for m in json.load(sys.stdin)]))",
      cases,
    );
    cases.forEach((matrix, k) => {
      const { values, vectors } = symmetricEigen(matrix);
      const order = values.map((_, i) => i).sort((a, b) => values[a]! - values[b]!);
      // two ways to one answer of order 1: rounding
      order.forEach((i, place) => {
        expect(values[i]).toBeCloseTo(expected[k]![place]!, 11);
        const along = matrix.map((row) => row.reduce((sum, value, j) => sum + value * vectors[i]![j]!, 0));
        along.forEach((value, j) => {
          expect(value).toBeCloseTo(values[i]! * vectors[i]![j]!, 11);
        });
      });
    });
  });
});
