import { expect, test } from "vitest";
import { padded, tickTexts } from "../../client/figures/axes.ts";
import { phasorOf } from "../../client/figures/plainAxis.ts";
import { degreesText, uncertainMillimetres } from "../../client/figures/uncertainMillimetres.ts";
import { runVectors } from "../../client/views/synchronousView.ts";
import type { RunEvaluation } from "../../src/contract/evaluation.ts";

test("a drawn vector has the length a and the angle phi of a cos(k theta + phi)", () => {
  for (const [a, phi] of [
    [2, 0.3],
    [0.5, -2],
    [1, 3],
  ] as const) {
    // c cos k theta + s sin k theta by the sum rule of the cosine
    const [c, s] = [a * Math.cos(phi), -a * Math.sin(phi)];
    const { vector } = phasorOf({
      k: 1,
      amplitude: a,
      amplitude_se: null,
      phase: phi,
      phase_se: null,
      cos: c,
      sin: s,
      cov: null,
    });
    expect(Math.hypot(...vector)).toBeCloseTo(a, 12);
    expect(Math.atan2(vector[1], vector[0])).toBeCloseTo(phi, 12);
  }
});

test("turning the sine's sign turns that of the covariance, not of the variances", () => {
  const harmonic = { k: 2, amplitude: 1, amplitude_se: null, phase: 0, phase_se: null, cos: 1, sin: 0 };
  expect(phasorOf({ ...harmonic, cov: [3, 0.5, 2] }).covariance).toEqual([3, -0.5, 2]);
});

test("ticks have the decimals of their spacing and a true minus", () => {
  expect(tickTexts([-10, 0, 10])).toEqual(["−10", "0", "10"]);
  expect(tickTexts([-0.5, 0, 0.5])).toEqual(["−0.5", "0.0", "0.5"]);
  expect(tickTexts([0, 0.05, 0.1])).toEqual(["0.00", "0.05", "0.10"]);
});

test("a scale of errors always holds zero, with room", () => {
  expect(padded(0.01, 0.02)[0]).toBeLessThan(0);
  expect(padded(0.01, 0.02)[1]).toBeGreaterThan(0.02);
  expect(padded(0, 0)[0]).toBeLessThan(padded(0, 0)[1]);
});

test("a value never shows more digits than its uncertainty warrants", () => {
  expect(uncertainMillimetres(0.00074273, 0.00057247)).toBe("0.7 ± 0.6");
  expect(uncertainMillimetres(0.0087123, 0.000264)).toBe("8.71 ± 0.26");
  expect(uncertainMillimetres(0.0087123, null)).toBe("8.71");
  expect(degreesText(-0.01)).toBe("359°");
  expect(degreesText(2 * Math.PI)).toBe("0°");
});

test("vectors are taken of used runs of the pair only, on the trajectory and at the harmonic asked for", () => {
  const harmonic = (k: number) => ({
    k,
    amplitude: k,
    amplitude_se: null,
    phase: 0,
    phase_se: null,
    cos: k,
    sin: 0,
    cov: null,
  });
  const split = { harmonics: [harmonic(1), harmonic(2)], rms: 1, remaining_rms: 1 };
  const synchronous = { vehicle: { x: split, y: split, z: split } };
  const run = (id: string, changes: object): RunEvaluation =>
    ({ id, configuration: "a", trajectory: "t", used: true, synchronous, ...changes }) as RunEvaluation;
  const runs = [
    run("1", {}),
    run("2", { configuration: "b" }),
    run("3", { configuration: "sham" }),
    run("4", { used: false }),
    run("5", { trajectory: "other" }),
    run("6", { synchronous: null }),
  ];
  const pair = { baseline: "a", candidate: "b" };
  const found = runVectors(runs, pair, { trajectory: "t", subject: "vehicle", harmonic: 2 });
  expect(found.map(({ run: id, role }) => `${id} ${role}`)).toEqual(["1 baseline", "2 candidate"]);
  expect(found[0]!.phasors.x.vector[0]).toBe(2);
  expect(runVectors(runs, pair, { trajectory: "t", subject: "arm", harmonic: 1 })).toEqual([]);
  expect(runVectors(runs, pair, { trajectory: "t", subject: "vehicle", harmonic: 7 })).toEqual([]);
});
