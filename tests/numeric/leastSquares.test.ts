import { describe, expect, test } from "vitest";
import { CounterpoiseError, NotFiniteError, TooFewSamplesError } from "../../src/foundation/errors.ts";
import { fitLine, leastSquares } from "../../src/numeric/leastSquares.ts";
import longley from "../published/data/longley.json";
import norris from "../published/data/nist-norris.json";
import sp1065 from "../published/data/sp1065.json";
import { describeWith } from "../support/available.ts";
import { runPython, runR, rVector } from "../support/run.ts";
import { normalColumn } from "./randomColumns.ts";
import { relativeError, worstDifference, worstRelativeError } from "./relativeError.ts";
import { sp1065Values } from "./sp1065Values.ts";

const ones = (n: number): Float64Array => new Float64Array(n).fill(1);

describe("NIST StRD, linear regression", () => {
  test("Norris: fitLine and leastSquares give the certified line", () => {
    const x = Float64Array.from(norris.x);
    const y = Float64Array.from(norris.y);
    const line = fitLine(x, y);
    const fit = leastSquares([ones(x.length), x], y);
    const { b0, sdB0, b1, sdB1, residualSD, rSquared } = norris.certified;
    const certified = [b0, sdB0, b1, sdB1, residualSD].map(Number);
    // 15 certified digits; a sound algorithm in doubles keeps 11 (the intercept is the small difference of large numbers)
    const found = [line.intercept, line.interceptStandardError, line.slope, line.slopeStandardError];
    expect(worstRelativeError([...found, line.residualStandardDeviation], certified)).toBeLessThan(1e-11);
    const direct = [fit.coefficients[0]!, fit.standardErrors[0]!, fit.coefficients[1]!, fit.standardErrors[1]!];
    expect(worstRelativeError([...direct, fit.residualStandardDeviation], certified)).toBeLessThan(1e-11);
    expect(relativeError(fit.rSquared, Number(rSquared))).toBeLessThan(1e-14);
  });

  test("Longley: seven coefficients of nearly dependent columns", () => {
    const y = Float64Array.from(longley.y);
    const fit = leastSquares([ones(16), ...longley.x.map((column) => Float64Array.from(column))], y);
    const { b, sd, residualSD, rSquared } = longley.certified;
    // condition 4e4 of the scaled columns: numpy by QR reaches 9e-12, R 1e-8; normal equations lose 7 digits
    expect(worstRelativeError(fit.coefficients, b.map(Number))).toBeLessThan(1e-10);
    expect(worstRelativeError(fit.standardErrors, sd.map(Number))).toBeLessThan(1e-10);
    expect(relativeError(fit.residualStandardDeviation, Number(residualSD))).toBeLessThan(1e-11);
    expect(relativeError(fit.rSquared, Number(rSquared))).toBeLessThan(1e-12);
  });
});

test("a clock with an offset of 0.25 s and a skew of 40 ppm is read off exactly", () => {
  // exact arithmetic
  const t = Float64Array.of(0, 10, 25, 60, 100);
  const line = fitLine(
    t,
    t.map((time) => 0.25 + 40e-6 * time),
  );
  expect(Math.abs(line.slope - 40e-6)).toBeLessThan(1e-14);
  expect(Math.abs(line.intercept - 0.25)).toBeLessThan(1e-14);
});

test("the drift of NIST's thousand points is the least-squares slope, not another drift rate", () => {
  // NIST SP 1065, table 31, from memory, seven printed digits: half a unit of the last. Abscissa 1..1000
  const line = fitLine(
    Float64Array.from({ length: 1000 }, (_, i) => i + 1),
    sp1065Values(),
  );
  expect(Math.abs(line.slope - Number(sp1065.memory.linearSlope))).toBeLessThan(5e-13);
  expect(Math.abs(line.intercept - Number(sp1065.memory.linearIntercept))).toBeLessThan(5e-8);
  expect(line.slope).not.toBeCloseTo(Number(sp1065.memory.bisectionSlope), 6);
});

/** Columns of very different size, one of them nearly a sum of two others. */
function awkward(seed: number, n: number): { design: Float64Array[]; y: Float64Array } {
  const a = normalColumn(seed, n, 3, 1);
  const b = normalColumn(seed + 1, n, 0, 1e-6);
  const c = normalColumn(seed + 2, n, 1e5, 10);
  const wobble = normalColumn(seed + 3, n, 0, 1e-3);
  const d = a.map((value, i) => value + 1e6 * b[i]! + wobble[i]!);
  const noise = normalColumn(seed + 4, n);
  const y = noise.map((value, i) => 2 + a[i]! - 4e5 * b[i]! + 0.01 * c[i]! + 0.5 * value);
  return { design: [ones(n), a, b, c, d], y };
}

describeWith(["scipy"], "against numpy.linalg, refined in 80-bit arithmetic, on seeded random columns", () => {
  test("coefficients, residuals and the unscaled covariance agree", () => {
    for (const [seed, n] of [
      [20, 8],
      [30, 200],
      [40, 3000],
    ] as const) {
      const { design, y } = awkward(seed, n);
      const expected = runPython<{ coefficients: number[]; residuals: number[]; covariance: number[] }>(
        `import json,sys,numpy as np
d,y=json.load(sys.stdin); X=np.array(d).T; y=np.array(y)
s=np.linalg.norm(X,axis=0); b=np.zeros(len(d),dtype=np.longdouble)
for _ in range(4):
    r=y-X.astype(np.longdouble)@b
    b=b+np.linalg.lstsq(X/s,r.astype(float),rcond=None)[0]/s
b=b.astype(float)
R=np.linalg.qr(X/s,mode="r"); Ri=np.linalg.inv(R)/s[:,None]
print(json.dumps({"coefficients":list(b),"residuals":list(r.astype(float)),"covariance":list((Ri@Ri.T).ravel())}))`,
        [design.map((column) => [...column]), [...y]],
      );
      const fit = leastSquares(design, y);
      // condition of the scaled columns about 2e4, squared for the covariance: 16 digits less 5 or less 8; and the
      // intercept is what remains of terms 500 times its size
      expect(worstRelativeError(fit.coefficients, expected.coefficients)).toBeLessThan(1e-8);
      expect(worstDifference(fit.residuals, expected.residuals)).toBeLessThan(1e-9);
      expect(worstRelativeError(fit.covarianceUnscaled, expected.covariance)).toBeLessThan(1e-7);
    }
  });
});

describeWith(["r"], "against R's lm", () => {
  test("standard errors, residual standard deviation and R squared agree", () => {
    const { design, y } = awkward(50, 60);
    const data = design.slice(1).map((column, i) => `x${i} <- ${rVector(column)}`);
    const program = `${data.join("; ")}; s <- summary(lm(${rVector(y)} ~ x0 + x1 + x2 + x3)); cat(format(c(s$coefficients[, 1:2], s$sigma, s$r.squared), digits = 17), sep = "\n")`;
    const fit = leastSquares(design, y);
    const found = [...fit.coefficients, ...fit.standardErrors, fit.residualStandardDeviation, fit.rSquared];
    expect(worstRelativeError(found, runR(program))).toBeLessThan(1e-9);
  });

  test("fitLine agrees where x lies far from zero", () => {
    // a day in seconds after the Unix epoch: the intercept is an extrapolation over 57 years
    const x = Float64Array.from({ length: 300 }, (_, i) => 1.8e9 + i / 4);
    const y = normalColumn(61, 300).map((value, i) => 0.3 * value + 0.01 * i);
    const program = `x <- ${rVector(x)} - 1.8e9; y <- ${rVector(y)}; s <- summary(lm(y ~ x)); cat(format(c(s$coefficients[2, 1:2], s$sigma), digits = 17), sep = "\n")`;
    const line = fitLine(x, y);
    const found = [line.slope, line.slopeStandardError, line.residualStandardDeviation];
    expect(worstRelativeError(found, runR(program))).toBeLessThan(1e-12);
  });
});

describe("what leastSquares refuses", () => {
  const x = Float64Array.of(1, 2, 3, 4, 6);
  const codeOf = (call: () => unknown): string => {
    try {
      call();
    } catch (error) {
      if (error instanceof CounterpoiseError) return error.code;
    }
    return "none";
  };

  test("columns that depend on one another, whatever their scale", () => {
    const y = Float64Array.of(1, 0, 1, 0, 1);
    expect(codeOf(() => leastSquares([x, x.map((value) => 1e-9 * value)], y))).toBe("rank-deficient");
    expect(codeOf(() => leastSquares([ones(5), x, x.map((value) => value / 3 + 0.1)], y))).toBe("rank-deficient");
    expect(codeOf(() => leastSquares([ones(5), new Float64Array(5)], y))).toBe("rank-deficient");
    expect(codeOf(() => leastSquares([], y))).toBe("rank-deficient");
    expect(codeOf(() => fitLine(ones(5), y))).toBe("rank-deficient");
    // a hundred thousand samples: rounding adds up, dependence must still be seen
    const long = normalColumn(70, 100_000);
    const sum = long.map((value) => value + 1);
    expect(codeOf(() => leastSquares([ones(100_000), long, sum], long))).toBe("rank-deficient");
  });

  test("a column of small size that is independent is no such case", () => {
    const tiny = x.map((value) => 1e-12 * value * value);
    const y = x.map((value) => 1 + value + value * value);
    const fit = leastSquares([ones(5), x, tiny], y);
    expect(worstRelativeError(fit.coefficients, [1, 1, 1e12])).toBeLessThan(1e-11);
  });

  test("unequal lengths, too few rows, NaN", () => {
    expect(codeOf(() => leastSquares([ones(4)], x))).toBe("unequal-lengths");
    expect(() => leastSquares([ones(2), x.slice(0, 2)], x.slice(0, 2))).toThrow(TooFewSamplesError);
    expect(() => leastSquares([ones(5)], Float64Array.of(1, 2, Number.NaN, 4, 5))).toThrow(NotFiniteError);
    expect(() => fitLine(x.slice(0, 2), x.slice(0, 2))).toThrow(TooFewSamplesError);
  });

  test("and it leaves what it was given as it was", () => {
    const y = Float64Array.of(3, 1, 4, 1, 5);
    leastSquares([ones(5), x], y);
    expect([...x]).toEqual([1, 2, 3, 4, 6]);
    expect([...y]).toEqual([3, 1, 4, 1, 5]);
  });
});

test("the thermometer of the GUM: correction, its drift and what they are worth at 30 degrees", () => {
  // JCGM 100:2008, H.3, table H.6: readings and corrections, degrees Celsius; results to half the last digit printed
  const t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.01, 26.511];
  const b = [-171, -169, -166, -159, -164, -165, -156, -157, -159, -161, -160];
  const fit = fitLine(
    Float64Array.from(t, (reading) => reading - 20),
    Float64Array.from(b, (correction) => correction / 1000),
  );
  expect(fit.intercept).toBeCloseTo(-0.1712, 4);
  expect(fit.interceptStandardError).toBeCloseTo(0.0029, 4);
  expect(fit.slope).toBeCloseTo(0.00218, 5);
  expect(fit.slopeStandardError).toBeCloseTo(0.00067, 5);
  expect(fit.residualStandardDeviation).toBeCloseTo(0.0035, 4);
  expect(fit.intercept + 10 * fit.slope).toBeCloseTo(-0.1494, 4);
});
