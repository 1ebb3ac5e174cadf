import { expect, test } from "vitest";
import { NotFiniteError, TooFewSamplesError } from "../../src/foundation/errors.ts";
import { successiveDifferenceNoise } from "../../src/metrics/measurementNoise.ts";
import { sampleStandardDeviation } from "../../src/numeric/descriptive.ts";
import { sp1065Values } from "../numeric/sp1065Values.ts";
import published from "../published/data/sp1065.json";

test("NIST's thousand points start as the handbook says", () => {
  const values = sp1065Values();
  expect([1, 2, 3].map((i) => Math.round(values[i]! * 2147483647))).toEqual(published.next);
});

test("successiveDifferenceNoise gives NIST's Allan deviation at m = 1, which is not the standard deviation", () => {
  // NIST SP 1065, table 31, seven printed digits: half a unit of the last
  const values = sp1065Values();
  expect(Math.abs(successiveDifferenceNoise(values) - Number(published.allanDeviationAt1))).toBeLessThan(5e-8);
  expect(Math.abs(sampleStandardDeviation(values) - Number(published.standardDeviation))).toBeLessThan(5e-8);
});

test("0, 1, 0, 1 has noise of the root of one half, by hand", () => {
  expect(successiveDifferenceNoise(Float64Array.of(0, 1, 0, 1))).toBe(Math.SQRT1_2);
});

test("a slow drift hardly enters it", () => {
  // exact: steps of 1e-3 give 1e-3 / sqrt 2, while the standard deviation of the ramp is 0.289
  const ramp = Float64Array.from({ length: 1001 }, (_, i) => i / 1000);
  expect(Math.abs(successiveDifferenceNoise(ramp) - 1e-3 * Math.SQRT1_2)).toBeLessThan(1e-15);
});

test("refuses one reading, NaN and infinity", () => {
  expect(() => successiveDifferenceNoise(Float64Array.of(1))).toThrow(TooFewSamplesError);
  expect(() => successiveDifferenceNoise(Float64Array.of(1, Number.NaN))).toThrow(NotFiniteError);
  expect(() => successiveDifferenceNoise(Float64Array.of(1, 2, Number.POSITIVE_INFINITY))).toThrow("at index 2");
});
