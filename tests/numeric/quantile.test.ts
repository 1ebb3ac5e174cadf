import { expect, test } from "vitest";
import { CounterpoiseError, NotFiniteError, TooFewSamplesError } from "../../src/foundation/errors.ts";
import { mean, median, quantile } from "../../src/numeric/descriptive.ts";
import sp1065 from "../published/data/sp1065.json";
import { describeWith } from "../support/available.ts";
import { runPython, runR, rVector } from "../support/run.ts";
import { normalColumn } from "./randomColumns.ts";
import { worstDifference } from "./relativeError.ts";
import { sp1065Values } from "./sp1065Values.ts";

const probabilities = [0, 0.013, 0.05, 0.25, 1 / 3, 0.5, 0.6827, 0.95, 0.99, 1];
// with ties, one value alone, two, and more than the 600 at which the selection begins to sample
const samples = [
  Float64Array.of(3.5),
  Float64Array.of(2, -1),
  Float64Array.of(5, 1, 5, 5, 2, 1, 5),
  normalColumn(11, 10),
  normalColumn(12, 997),
  normalColumn(13, 3000).map((value) => Math.round(4 * value) / 4),
];

test("type 7 interpolates at (n - 1) p: exact arithmetic on four values", () => {
  // Hyndman & Fan (1996), definition 7: position 3 x 0.25 = 0.75 between 1 and 2, 3 x 0.5 = 1.5 between 2 and 4
  const values = Float64Array.of(4, 1, 8, 2);
  expect(quantile(values, 0.25)).toBe(1.75);
  expect(quantile(values, 0.5)).toBe(3);
  expect(quantile(values, 1)).toBe(8);
  expect(median(values)).toBe(3);
  expect([...values]).toEqual([4, 1, 8, 2]);
});

test("mean, median, least and greatest of NIST's thousand points", () => {
  // NIST SP 1065, table 31, from memory, seven printed digits: half a unit of the last
  const values = sp1065Values();
  expect(Math.abs(mean(values) - Number(sp1065.memory.mean))).toBeLessThan(5e-8);
  expect(Math.abs(median(values) - Number(sp1065.memory.median))).toBeLessThan(5e-8);
  expect(Math.abs(quantile(values, 1) - Number(sp1065.memory.max))).toBeLessThan(5e-8);
  expect(Math.abs(quantile(values, 0) - Number(sp1065.memory.min))).toBeLessThan(5e-10);
});

describeWith(["r"], "against R's quantile(type = 7)", () => {
  test("quantile and median agree", () => {
    const p = rVector(probabilities);
    const calls = samples.map(
      (sample) => `(function(x) c(quantile(x, ${p}, type = 7, names = FALSE), median(x)))(${rVector(sample)})`,
    );
    const expected = runR(`cat(format(c(${calls.join(", ")}), digits = 17), sep = "\n")`);
    const found = samples.flatMap((sample) => [...probabilities.map((q) => quantile(sample, q)), median(sample)]);
    // values of size 1 to 5, one interpolation in doubles, ordered differently: a few units of the last place
    expect(worstDifference(found, expected)).toBeLessThan(1e-13);
  });
});

describeWith(["scipy"], "against numpy.quantile", () => {
  test("agrees on 20 000 values, which are left as they were", () => {
    const sample = normalColumn(14, 20_000);
    const before = sample.slice();
    const expected = runPython<number[]>(
      "import json,sys,numpy as np\nv,p=json.load(sys.stdin)\nprint(json.dumps(list(np.quantile(np.array(v),p))))",
      [[...sample], probabilities],
    );
    const found = probabilities.map((p) => quantile(sample, p));
    expect(worstDifference(found, expected)).toBeLessThan(1e-13);
    expect(sample).toEqual(before);
  });
});

test("refuses no values, NaN and what is no probability", () => {
  expect(() => quantile(new Float64Array(0), 0.5)).toThrow(TooFewSamplesError);
  expect(() => quantile(Float64Array.of(1, Number.NaN), 0.5)).toThrow(NotFiniteError);
  for (const p of [-0.1, 1.1, Number.NaN, 95]) {
    expect(() => quantile(Float64Array.of(1, 2), p)).toThrow(CounterpoiseError);
    expect(() => quantile(Float64Array.of(1, 2), p)).toThrow(`probability from 0 to 1, found ${p}`);
  }
});
