import { expect, test } from "vitest";
import { flightSettings } from "../../src/simulation/flightSettings.ts";
import { plant } from "../../src/simulation/plant.ts";
import { discretize, matrixExponential, propagate } from "../../src/simulation/propagate.ts";
import { describeWith } from "../support/available.ts";
import { runPython } from "../support/run.ts";

const system = plant(flightSettings({ counterweights: [{ mass: 0.5, at: [-0.1, 0, 0] }], balance: [0.5, 0.2, 0] }));

describeWith(["scipy"], "the simulation's linear algebra against scipy", () => {
  test("matrixExponential agrees with scipy.linalg.expm on the plant over a tenth of a second", () => {
    const matrix = system.a.map((value) => value / 10);
    const expected = runPython<number[]>(
      "import json,sys,numpy,scipy.linalg\nd=json.load(sys.stdin)\n" +
        "print(json.dumps(scipy.linalg.expm(numpy.reshape(d['m'],(d['n'],d['n']))).ravel().tolist()))",
      { m: Array.from(matrix), n: system.states },
    );
    const largest = Math.max(...expected.map(Math.abs));
    const found = matrixExponential(matrix, system.states);
    // both scale and square; rounding grows with the norm (about 1e3 here) times 2e-16 and the ten squarings
    expect(Math.max(...expected.map((value, i) => Math.abs(value - found[i]!))) / largest).toBeLessThan(1e-11);
  });

  test("propagate agrees with scipy.signal.lsim, which also takes inputs as straight between steps", () => {
    const count = 400;
    const step = 1 / 100;
    const inputs = Array.from({ length: system.inputs }, (_, k) =>
      Float64Array.from({ length: count }, (_, i) => Math.sin(0.05 * (k + 1) * i) * (k < 3 ? 0.1 : 0.5)),
    );
    const expected = runPython<number[]>(
      `import json,sys,numpy,scipy.signal
d=json.load(sys.stdin)
n,m=d['n'],d['k']
A=numpy.reshape(d['a'],(n,n)); B=numpy.reshape(d['b'],(n,m))
s=scipy.signal.lti(A,B,numpy.eye(n),numpy.zeros((n,m)))
u=numpy.array(d['u']).T
_,y,_=scipy.signal.lsim(s,u,numpy.arange(len(u))*d['h'])
print(json.dumps(y.ravel().tolist()))`,
      {
        n: system.states,
        k: system.inputs,
        a: Array.from(system.a),
        b: Array.from(system.b),
        u: inputs.map((input) => Array.from(input)),
        h: step,
      },
    );
    const found = propagate(discretize(system, step), inputs, { count });
    const largest = Math.max(...expected.map(Math.abs));
    expect(largest).toBeGreaterThan(0.1);
    expect(Math.max(...expected.map((value, i) => Math.abs(value - found[i]!))) / largest).toBeLessThan(1e-10);
  });
});

test("propagate adds up: two inputs together give the sum of each alone, on top of what was there", () => {
  const stepper = discretize(system, 1 / 250);
  const count = 300;
  const wave = Float64Array.from({ length: count }, (_, i) => Math.sin(i / 20));
  const none = Array.from({ length: system.inputs }, () => null as Float64Array | null);
  const travel = none.with(0, wave);
  const gust = none.with(4, wave);
  const both = propagate(stepper, travel.with(4, wave), { count });
  const first = propagate(stepper, travel, { count });
  const sum = propagate(stepper, gust, { count, onto: first });
  expect(Math.max(...both.map((value, i) => Math.abs(value - sum[i]!)))).toBeLessThan(1e-14);
  // what it was laid onto is left as it was
  expect(first).toEqual(propagate(stepper, travel, { count }));
});

test("propagate can run up unseen: skipping gives the later rows of the whole", () => {
  const stepper = discretize(system, 1 / 250);
  const wave = Float64Array.from({ length: 300 }, (_, i) => Math.sin(i / 20));
  const inputs = Array.from({ length: system.inputs }, (_, i) => (i === 3 ? wave : null));
  const whole = propagate(stepper, inputs, { count: 300 });
  const late = propagate(stepper, inputs, { count: 200, skip: 100 });
  expect(late).toEqual(whole.slice(100 * system.states));
});
