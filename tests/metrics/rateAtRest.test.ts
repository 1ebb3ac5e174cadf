import { expect, test } from "vitest";
import { rateAtRest } from "../../src/metrics/rateAtRest.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { gaussMarkov } from "../../src/simulation/motion.ts";
import { shareLimit } from "./samplingLimits.ts";

const rate = 100;
const period = 1.508;
const options = { harmonics: 5, neighbours: 8 };
const duration = 18;
const t = Float64Array.from({ length: duration * rate }, (_, i) => 20 + i / rate);

/** A hovering vehicle's error: a slow wander of 4 mm (correlation time 0.8 s) and capture noise of 0.2 mm. */
function hover(seed: number): Float64Array {
  const random = seededRandom(seed);
  const wander = gaussMarkov(random, 0.004, 0.8, 1 / rate, t.length);
  return wander.map((value) => value + 0.0002 * random.normal());
}

test("in a hover without anything at the rate, p is what it says: as often below 0.05, 0.01 and 0.001 as chance has it", () => {
  const trials = 800;
  const ps: number[] = [];
  for (let seed = 1; seed <= trials; seed++) {
    const found = rateAtRest(t, [hover(seed)], [20, 20 + duration], period, options)!;
    ps.push(...found[0]!.map(({ p }) => p));
  }
  // the density beside the harmonic is estimated, not known: up to twice the nominal share is called good
  for (const level of [0.05, 0.01, 0.001]) {
    const share = ps.filter((p) => p < level).length / ps.length;
    expect(share, `share of p below ${level}`).toBeLessThan(2 * level + shareLimit(trials, 2 * level));
  }
  expect(ps.filter((p) => p < 0.5).length / ps.length).toBeGreaterThan(0.35);
});

test("a line at twice the rate is found at its harmonic, with its amplitude, and nowhere else", () => {
  const line = hover(7).map((value, i) => value + 0.003 * Math.cos((2 * Math.PI * 2 * t[i]!) / period + 0.7));
  const found = rateAtRest(t, [line], [20, 20 + duration], period, options)![0]!;
  expect(found.map(({ k, p }) => [k, p < 1e-4])).toEqual([
    [1, false],
    [2, true],
    [3, false],
    [4, false],
    [5, false],
  ]);
  // the hover alone scatters the amplitude of a harmonic by some tenths of a millimetre
  expect(Math.abs(found[1]!.amplitude - 0.003)).toBeLessThan(0.0008);
});

test("fewer than four periods tell nothing", () => {
  expect(rateAtRest(t, [hover(3)], [20, 20 + 3.9 * period], period, options)).toBeNull();
  expect(rateAtRest(t, [hover(3)], [20, 20 + 4 * period], period, options)).not.toBeNull();
});
