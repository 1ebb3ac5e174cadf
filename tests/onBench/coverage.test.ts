import { expect, test } from "vitest";
import { gravityAndInertia, growthExponent, overRefits, ratioOverRefits } from "../../src/bench/refits.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";

/** Benches of five refits and three rates, drawn as numbers: what a refit does to both, to one, and noise of each reading. */
const benches = 2000;
const refits = 5;
const rates = [0.36, 0.53, 0.71];
const truth = { u: 0.68, ratio: 0.15, alpha: 6.67, beta: -0.054 };
/** 2000 intervals of 95 %: three standard errors of the share are 1.5 % */
const within = (share: number): void => {
  expect(share).toBeGreaterThan(0.935);
  expect(share).toBeLessThan(0.965);
};

test("95 % intervals of reduction, exponent, gravity's and inertia's part and moving mass hold the truth in 93.5 to 96.5 %", () => {
  const random = seededRandom(17);
  const held = { ratio: 0, exponent: 0, alpha: 0, beta: 0, u: 0 };
  const holds = (interval: readonly [number, number] | null, value: number): number =>
    interval !== null && interval[0] <= value && value <= interval[1] ? 1 : 0;
  for (let bench = 0; bench < benches; bench++) {
    const drawn = Array.from({ length: refits }, (_, refit) => {
      const shared = 1 + 0.03 * random.normal();
      const bare = truth.u * (shared + 0.01 * random.normal());
      const weighted = truth.u * truth.ratio * (shared + 0.08 * random.normal());
      const bend = 0.02 * random.normal();
      const [gravity, inertia] = [truth.alpha * shared, truth.beta * (1 + 0.05 * random.normal())];
      return { refit: String(refit), bare, weighted, bend, gravity, inertia };
    });
    const of = (key: "bare" | "weighted") => drawn.map(({ refit, [key]: value }) => ({ refit, value }));
    held.ratio += holds(ratioOverRefits(of("bare"), of("weighted"), 0.95).ci95, truth.ratio);
    held.u += holds(
      overRefits(
        drawn.map(({ bare }) => bare),
        0.95,
      )!.ci95,
      truth.u,
    );
    const forces = drawn.flatMap(({ refit, bare, bend }) =>
      rates.map((rate) => ({ refit, rate, value: bare * rate ** (2 + bend) * (1 + 0.005 * random.normal()) })),
    );
    held.exponent += holds(growthExponent(forces, 3, 0.95)!.ci95, 2);
    const moments = drawn.flatMap(({ refit, gravity, inertia }) =>
      rates.map((rate) => ({
        refit,
        rate,
        value: gravity + inertia * (2 * Math.PI * rate) ** 2 + 0.01 * random.normal(),
      })),
    );
    const found = gravityAndInertia(moments, 3, 0.95)!;
    held.alpha += holds(found.gravitational.ci95, truth.alpha);
    held.beta += holds(found.inertial.ci95, truth.beta);
  }
  for (const count of Object.values(held)) within(count / benches);
});

test("all readings as replicates, instead of refits, would hold it far less often", () => {
  const random = seededRandom(18);
  let held = 0;
  for (let bench = 0; bench < 400; bench++) {
    const values = Array.from({ length: refits }, () => {
      const mounted = 1 + 0.03 * random.normal();
      return Array.from({ length: 6 }, () => mounted + 0.002 * random.normal());
    }).flat();
    const { ci95 } = overRefits(values, 0.95)!;
    held += ci95![0] <= 1 && 1 <= ci95![1] ? 1 : 0;
  }
  expect(held / 400).toBeLessThan(0.75);
});
