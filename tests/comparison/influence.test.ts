import { describe, expect, test } from "vitest";
import { influenceCoefficients } from "../../src/comparison/imbalance/influenceCoefficients.ts";
import { type InfluenceColumn, influenceColumn } from "../../src/comparison/imbalance/influenceColumn.ts";
import { influenceCorrection } from "../../src/comparison/imbalance/influenceCorrection.ts";
import { CounterpoiseError, NotFiniteError, TooFewSamplesError } from "../../src/foundation/errors.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import published from "../published/data/balancing.json";
import { describeWith } from "../support/available.ts";
import { runPython } from "../support/run.ts";

const degree = Math.PI / 180;
const polar = (readings: readonly (readonly number[])[]): InfluenceColumn =>
  influenceColumn(
    readings.map(([size]) => size!),
    readings.map(([, phase]) => phase! * degree),
  );
const sizeOf = ({ re, im }: InfluenceColumn, i: number): number => Math.hypot(re[i]!, im[i]!);
const angleOf = ({ re, im }: InfluenceColumn, i: number): number => Math.atan2(im[i]!, re[i]!) / degree;

test("one plane: the vector approach, exactly", () => {
  const { without, with: withTrial, trial, ruler } = published.single;
  const vibration = polar([without]);
  const influence = influenceCoefficients(vibration, polar([withTrial]), { re: trial, im: 0 });
  const { weights, residual } = influenceCorrection([influence], vibration, "complex");
  // the vectors stand at right angles: the trial moves the vibration by sqrt(7^2 + 5^2), and the correction follows
  expect(100 * sizeOf(influence, 0)).toBeCloseTo(Math.sqrt(74), 9);
  expect(sizeOf(weights, 0)).toBeCloseTo(700 / Math.sqrt(74), 9);
  expect(Math.abs(angleOf(weights, 0))).toBeCloseTo(Math.atan(5 / 7) / degree, 9);
  expect(sizeOf(residual, 0)).toBeLessThan(1e-12);
  // what the page reads off its drawing, within 5 %
  expect(Math.abs(sizeOf(weights, 0) / ruler.mass - 1)).toBeLessThan(0.05);
  expect(Math.abs(Math.abs(angleOf(weights, 0)) / ruler.angle - 1)).toBeLessThan(0.05);
});

test("Goodman's two weights for three readings: 17/21 and 31/21", () => {
  const { influence, vibration, printed } = published.goodman;
  const real = (values: readonly number[]): InfluenceColumn => ({
    re: Float64Array.from(values),
    im: new Float64Array(values.length),
  });
  const columns = [0, 1].map((j) => real(influence.map((row) => row[j]!)));
  for (const kind of ["real", "complex"] as const) {
    const { weights } = influenceCorrection(columns, real(vibration), kind);
    expect(weights.re[0]).toBeCloseTo(17 / 21, 12);
    expect(weights.re[1]).toBeCloseTo(31 / 21, 12);
    // two printed decimals
    for (const [i, text] of printed.entries()) expect(Math.abs(weights.re[i]! - Number(text))).toBeLessThan(0.005);
    for (const im of weights.im) expect(Math.abs(im)).toBeLessThan(1e-12);
  }
});

test("two planes of the application note: 1.96 g at -122 degrees and 1.06 g at 121", () => {
  const { without, with: withTrial, trial, correction } = published.twoPlanes;
  const vibration = polar(without);
  const columns = withTrial.map((readings) => influenceCoefficients(vibration, polar(readings), { re: trial, im: 0 }));
  const { weights, residual } = influenceCorrection(columns, vibration, "complex");
  // readings of three figures, one of them in doubt: 2 % and 1 degree
  for (const [i, [mass, angle]] of correction.entries()) {
    expect(Math.abs(sizeOf(weights, i) / mass! - 1)).toBeLessThan(0.02);
    expect(Math.abs(angleOf(weights, i) - angle!)).toBeLessThan(1);
    expect(sizeOf(residual, i)).toBeLessThan(1e-9);
  }
});

describeWith(["scipy"], "corrections against numpy", () => {
  test("least squares of complex columns with complex and with real weights", () => {
    const random = seededRandom(1964);
    const column = (n: number): InfluenceColumn => ({
      re: Float64Array.from({ length: n }, random.normal),
      im: Float64Array.from({ length: n }, random.normal),
    });
    const influence = [column(7), column(7), column(7)];
    const vibration = column(7);
    const listed = ({ re, im }: InfluenceColumn) => ({ re: [...re], im: [...im] });
    const expected = runPython<{ complex: { re: number[]; im: number[] }; real: number[]; left: number[] }>(
      `import json, sys, numpy as np
given = json.load(sys.stdin)
of = lambda c: np.array(c["re"]) + 1j * np.array(c["im"])
a = np.array([of(c) for c in given["influence"]]).T
v = of(given["vibration"])
w = np.linalg.lstsq(a, -v, rcond=None)[0]
r = np.linalg.lstsq(np.vstack([a.real, a.imag]), -np.concatenate([v.real, v.imag]), rcond=None)[0]
print(json.dumps({"complex": {"re": list(w.real), "im": list(w.imag)}, "real": list(r), "left": list(abs(v + a @ r))}))`,
      { influence: influence.map(listed), vibration: listed(vibration) },
    );
    const complex = influenceCorrection(influence, vibration, "complex");
    const real = influenceCorrection(influence, vibration, "real");
    for (let i = 0; i < 3; i++) {
      expect(complex.weights.re[i]).toBeCloseTo(expected.complex.re[i]!, 12);
      expect(complex.weights.im[i]).toBeCloseTo(expected.complex.im[i]!, 12);
      expect(real.weights.re[i]).toBeCloseTo(expected.real[i]!, 12);
    }
    for (let i = 0; i < 7; i++) expect(sizeOf(real.residual, i)).toBeCloseTo(expected.left[i]!, 12);
  });
});

describe("what influence functions refuse", () => {
  const one = influenceColumn([1], [0]);
  test("a trial weight of nought, columns of unequal length, numbers that are none", () => {
    expect(() => influenceCoefficients(one, one, { re: 0, im: 0 })).toThrow(CounterpoiseError);
    expect(() => influenceCoefficients(one, influenceColumn([1, 2], [0, 0]), { re: 1, im: 0 })).toThrow(
      CounterpoiseError,
    );
    expect(() => influenceCoefficients(one, influenceColumn([Number.NaN], [0]), { re: 1, im: 0 })).toThrow(
      NotFiniteError,
    );
    expect(() => influenceCorrection([influenceColumn([1, 2], [0, 0])], one, "real")).toThrow(CounterpoiseError);
  });

  test("more unknowns than equations, weights that do the same", () => {
    expect(() => influenceCorrection([one, one, one], one, "real")).toThrow(TooFewSamplesError);
    const two = influenceColumn([1, 2], [0, 1]);
    expect(() => influenceCorrection([two, two], influenceColumn([1, 1], [0, 0]), "real")).toThrow(
      /independent columns/,
    );
  });
});
