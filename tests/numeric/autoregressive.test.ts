import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { CounterpoiseError, NotFiniteError, TooFewSamplesError } from "../../src/foundation/errors.ts";
import {
  autocorrelationOfPartials,
  autoregressiveAutocorrelation,
} from "../../src/numeric/autoregressiveAutocorrelation.ts";
import { autoregressiveToPartial } from "../../src/numeric/autoregressiveToPartial.ts";
import { effectiveSampleSize } from "../../src/numeric/effectiveSampleSize.ts";
import { partialToAutoregressive } from "../../src/numeric/partialToAutoregressive.ts";
import { describeWith } from "../support/available.ts";
import { runPython, runR, rVector } from "../support/run.ts";
import { worstDifference } from "./relativeError.ts";

describe("effective sample size of a mean", () => {
  test("fifty readings of an AR(1) with rho 0.6 are worth 12.9870, not the limit of 12.5", () => {
    // derived: n / (1 + 2 sum (1 - k/n) 0.6^k), summed by hand as a geometric series:
    // (n (1 + r) / (1 - r) - 2 r (1 - r^n) / (1 - r)^2) / n per reading
    const rho = autoregressiveAutocorrelation(Float64Array.of(0.6), 49);
    const exact = 2500 / ((50 * 1.6) / 0.4 - (2 * 0.6 * (1 - 0.6 ** 50)) / 0.16);
    expect(Math.abs(effectiveSampleSize(rho) - exact)).toBeLessThan(1e-9);
    expect(effectiveSampleSize(rho)).toBeCloseTo(12.987, 4);
  });

  test("equals n squared over the sum of the full correlation matrix", () => {
    const rho = autoregressiveAutocorrelation(Float64Array.of(0.9, -0.5), 29);
    let sum = 0;
    for (let i = 0; i < 30; i++) for (let j = 0; j < 30; j++) sum += rho[Math.abs(i - j)]!;
    expect(Math.abs(effectiveSampleSize(rho) - 900 / sum)).toBeLessThan(1e-11);
  });

  test("independent readings are worth themselves, alternating ones more", () => {
    const white = new Float64Array(20);
    white[0] = 1;
    expect(effectiveSampleSize(white)).toBe(20);
    expect(effectiveSampleSize(autoregressiveAutocorrelation(Float64Array.of(-0.5), 19))).toBeGreaterThan(50);
  });
});

describe("partial autocorrelations and coefficients", () => {
  test("order two by hand: phi1 = r1 (1 - r2), phi2 = r2", () => {
    expect([...partialToAutoregressive(Float64Array.of(0.5, -0.5))]).toEqual([0.75, -0.5]);
    expect([...partialToAutoregressive(new Float64Array(0))]).toEqual([]);
  });

  test("autoregressiveToPartial undoes partialToAutoregressive, and both leave their input alone", () => {
    const partials = fc.array(fc.double({ min: -0.95, max: 0.95, noNaN: true }), { minLength: 1, maxLength: 5 });
    fc.assert(
      fc.property(partials, (list) => {
        const partial = Float64Array.from(list);
        const coefficients = partialToAutoregressive(partial);
        const copy = coefficients.slice();
        // each step divides by 1 - r^2 >= 0.0975, at most five times: 1e-16 x 1e5, and some room
        expect(worstDifference(autoregressiveToPartial(coefficients), list)).toBeLessThan(1e-9);
        expect(partial).toEqual(Float64Array.from(list));
        expect(coefficients).toEqual(copy);
      }),
      { seed: 12, numRuns: 200 },
    );
  });
});

describeWith(["scipy"], "against exact fractions", () => {
  test("autocorrelations of partials near the edge of what is stationary, where their coefficients do not lead back", () => {
    const partials = [
      [-0.9995, -0.9995, -0.9995, -0.9995, -0.9995],
      [0.9995, 0.9995, -0.9995, 0.9995, 0.9995, -0.9995, 0.3],
      [0.95, -0.8, 0.3, -0.1],
    ];
    const expected = runPython<number[][]>(
      `import json,sys
from fractions import Fraction as F
out=[]
for p in json.load(sys.stdin):
    p=[F(v) for v in p]; rho=[F(1)]; phi=[]; left=F(1)
    for k,last in enumerate(p):
        rho.append(last*left+sum(phi[j]*rho[k-j] for j in range(k)))
        phi=[phi[j]-last*phi[k-1-j] for j in range(k)]+[last]
        left*=1-last*last
    while len(rho)<31: rho.append(sum(phi[j]*rho[len(rho)-1-j] for j in range(len(phi))))
    out.append([float(v) for v in rho])
print(json.dumps(out))`,
      partials,
    );
    partials.forEach((partial, k) => {
      const found = autocorrelationOfPartials(Float64Array.from(partial), 30);
      // thirty steps of a recursion with roots at the unit circle, coefficients up to 35: the rounding grows a millionfold
      expect(worstDifference(found, expected[k]!)).toBeLessThan(1e-9);
    });
  });
});

describeWith(["r"], "against R's ARMAacf", () => {
  test("autocorrelation and partial autocorrelation agree for orders 1 to 4", () => {
    const partials = [[0.6], [0.9, -0.4], [-0.7, 0.2, 0.5], [0.95, -0.8, 0.3, -0.1]];
    const models = partials.map((partial) => partialToAutoregressive(Float64Array.from(partial)));
    const calls = models.flatMap((model) => [
      `ARMAacf(ar = ${rVector(model)}, lag.max = 40)`,
      `ARMAacf(ar = ${rVector(model)}, lag.max = ${model.length}, pacf = TRUE)`,
    ]);
    const found = models.flatMap((model, i) => [...autoregressiveAutocorrelation(model, 40), ...partials[i]!]);
    // R solves the Yule-Walker equations, ours goes order by order
    const expected = runR(`cat(format(c(${calls.join(", ")}), digits = 17), sep = "\n")`);
    expect(worstDifference(found, expected)).toBeLessThan(1e-12);
  });
});

test("fewer lags than the order, and white noise", () => {
  expect([...autoregressiveAutocorrelation(Float64Array.of(0.75, -0.5), 0)]).toEqual([1]);
  expect([...autoregressiveAutocorrelation(Float64Array.of(0.75, -0.5), 1)]).toEqual([1, 0.5]);
  expect([...autoregressiveAutocorrelation(new Float64Array(0), 2)]).toEqual([1, 0, 0]);
});

describe("what they refuse", () => {
  const codeOf = (call: () => unknown): string => {
    try {
      call();
    } catch (error) {
      if (error instanceof CounterpoiseError) return error.code;
    }
    return "none";
  };

  test("models that are not stationary", () => {
    expect(codeOf(() => partialToAutoregressive(Float64Array.of(0.2, 1)))).toBe("not-stationary");
    expect(codeOf(() => autoregressiveToPartial(Float64Array.of(0.7, 0.5)))).toBe("not-stationary");
    expect(codeOf(() => autoregressiveAutocorrelation(Float64Array.of(1.1), 3))).toBe("not-stationary");
  });

  test("NaN, nothing, and what is no autocorrelation", () => {
    expect(() => partialToAutoregressive(Float64Array.of(Number.NaN))).toThrow(NotFiniteError);
    expect(() => effectiveSampleSize(new Float64Array(0))).toThrow(TooFewSamplesError);
    expect(codeOf(() => effectiveSampleSize(Float64Array.of(0.9, 0.5)))).toBe("not-an-autocorrelation");
    expect(codeOf(() => effectiveSampleSize(Float64Array.of(1, -1)))).toBe("not-an-autocorrelation");
  });
});
