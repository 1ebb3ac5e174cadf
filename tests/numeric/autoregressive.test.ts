import { describe, expect, test } from "vitest";
import { CounterpoiseError, NotFiniteError } from "../../src/foundation/errors.ts";
import { autocorrelationOfPartials, partialToAutoregressive } from "../../src/numeric/partialAutocorrelation.ts";
import { describeWith } from "../support/available.ts";
import { runPython, runR, rVector } from "../support/run.ts";
import { worstDifference } from "./relativeError.ts";

describe("partial autocorrelations and coefficients", () => {
  test("order two by hand: phi1 = r1 (1 - r2), phi2 = r2", () => {
    expect([...partialToAutoregressive(Float64Array.of(0.5, -0.5))]).toEqual([0.75, -0.5]);
    expect([...partialToAutoregressive(new Float64Array(0))]).toEqual([]);
  });

  test("leaves its input alone", () => {
    const partial = Float64Array.of(0.5, -0.5, 0.3);
    partialToAutoregressive(partial);
    expect([...partial]).toEqual([0.5, -0.5, 0.3]);
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
    const found = partials.flatMap((partial) => [
      ...autocorrelationOfPartials(Float64Array.from(partial), 40),
      ...partial,
    ]);
    // R solves the Yule-Walker equations, ours goes order by order
    const expected = runR(`cat(format(c(${calls.join(", ")}), digits = 17), sep = "\n")`);
    expect(worstDifference(found, expected)).toBeLessThan(1e-12);
  });
});

test("fewer lags than the order, and white noise", () => {
  expect([...autocorrelationOfPartials(Float64Array.of(0.5, -0.5), 0)]).toEqual([1]);
  expect([...autocorrelationOfPartials(Float64Array.of(0.5, -0.5), 1)]).toEqual([1, 0.5]);
  expect([...autocorrelationOfPartials(new Float64Array(0), 2)]).toEqual([1, 0, 0]);
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
    expect(codeOf(() => autocorrelationOfPartials(Float64Array.of(1.1), 3))).toBe("not-stationary");
  });

  test("NaN", () => {
    expect(() => partialToAutoregressive(Float64Array.of(Number.NaN))).toThrow(NotFiniteError);
  });
});
