import { describe, expect, test } from "vitest";
import { type BaselinePlace, type Heavier, type RefitPair, ratioLaw, reductionsAt } from "../../src/bench/forecast.ts";
import type { Phasor } from "../../src/bench/phasor.ts";
import { twoTransfers } from "../../src/bench/twoTransfers.ts";
import { type SeededRandom, seededRandom } from "../../src/numeric/seededRandom.ts";
import { describeWith } from "../support/available.ts";

const g = 9.80665;

/**
 * A vehicle in hover by its equations of motion, at one rate: m X'' = m g theta + F, J theta'' = M - J0 (a^2 (theta - theta_c) +
 * 2 z a theta'), theta_c = -(p^2 X + 2 z p X') / g. Gains are the baseline's whatever is added. Solved by Cramer's rule; nothing of
 * the product enters.
 */
function shaken(
  { mass, inertia, bareInertia, position, attitude }: Vehicle,
  rate: number,
  force: number,
  moment: number,
): Phasor {
  const w = 2 * Math.PI * rate;
  const times = (a: Phasor, b: Phasor): Phasor => [a[0] * b[0] - a[1] * b[1], a[0] * b[1] + a[1] * b[0]];
  const [a, p] = [2 * Math.PI * attitude, 2 * Math.PI * position];
  // rows: [X, theta | right side]
  const a11: Phasor = [-mass * w * w, 0];
  const a12: Phasor = [-mass * g, 0];
  const a21: Phasor = [(bareInertia * a * a * p * p) / g, (bareInertia * a * a * 2 * 0.7 * p * w) / g];
  const a22: Phasor = [bareInertia * a * a - inertia * w * w, bareInertia * 2 * 0.8 * a * w];
  const [d1, d2] = [times(a11, a22), times(a12, a21)];
  const whole: Phasor = [d1[0] - d2[0], d1[1] - d2[1]];
  const top: Phasor = [force * a22[0] - a12[0] * moment, force * a22[1]];
  const square = whole[0] ** 2 + whole[1] ** 2;
  return [(top[0] * whole[0] + top[1] * whole[1]) / square, (top[1] * whole[0] - top[0] * whole[1]) / square];
}

interface Vehicle {
  readonly mass: number;
  readonly inertia: number;
  readonly bareInertia: number;
  readonly position: number;
  readonly attitude: number;
}

interface Pair {
  readonly places: BaselinePlace[];
  readonly heavier: Heavier;
  /** candidate's runs of the first trajectory */
  readonly flown: Phasor[];
  /** true displacement ratio, and the law's range for it by the true reductions of force and moment */
  readonly factor: number;
  readonly range: readonly [number, number];
  readonly byForce: readonly [number, number];
}

const [refits, flights] = [5, 5];

/** A bench and its flights: three trajectories with the arm low, in the middle and high; weights at the arm's height or elsewhere. */
function drawn(random: SeededRandom, elsewhere: boolean, speeds: readonly number[]): Pair {
  const between = (low: number, high: number): number => low + (high - low) * random.uniform();
  const bare: Vehicle = {
    mass: between(3.5, 6),
    inertia: between(0.09, 0.14),
    bareInertia: 0,
    position: between(0.5, 1),
    attitude: between(3, 6),
  };
  const vehicle = { ...bare, bareInertia: bare.inertia };
  const added = between(0.3, 0.7);
  const heavy = { ...vehicle, mass: bare.mass + added, inertia: bare.inertia + added * between(0.1, 0.2) ** 2 };
  const [arm, taken] = [between(0.4, 0.8), between(0.5, 0.9)];
  const sway = between(0.02, 0.08);
  const heights = [-0.2, -0.05, -0.35].map((height) => height + between(-0.03, 0.03));
  const lift = elsewhere ? between(0.1, 0.35) * (random.uniform() < 0.5 ? -1 : 1) : 0;
  // what a refit does to both configurations, and to one
  const mountings = Array.from({ length: refits }, () => ({
    shared: 1 + 0.02 * random.normal(),
    own: [1 + 0.01 * random.normal(), 1 + 0.01 * random.normal()] as const,
  }));
  const truth = heights.map((height) => ({
    baseline: { mass: arm, gravity: g * arm, inertia: arm * height },
    candidate: {
      mass: arm * (1 - taken),
      gravity: g * arm * (1 - taken),
      inertia: arm * height - arm * taken * (height + lift),
    },
  }));
  const runsOf = (own: Vehicle, side: keyof RefitPair, place: number, scatter: number): Phasor[] => {
    const { mass, gravity, inertia } = truth[place]![side];
    const square = (2 * Math.PI * speeds[place]!) ** 2;
    const [re, im] = shaken(own, speeds[place]!, square * mass * sway, (gravity + inertia * square) * sway);
    return Array.from({ length: flights }, () => [re + scatter * random.normal(), im + scatter * random.normal()]);
  };
  const size = (place: number): number => Math.hypot(...runsOf(vehicle, "baseline", place, 0)[0]!);
  const noise = 0.06 * Math.max(...heights.map((_, i) => size(i)));
  const places = heights.map((_, i): BaselinePlace => {
    const { baseline, candidate } = truth[i]!;
    const scaled = ({ mass, gravity, inertia }: typeof baseline, by: number) => ({
      mass: mass * by,
      gravity: gravity * by * (1 + 0.004 * random.normal()),
      inertia: inertia * by * (1 + 0.02 * random.normal()),
    });
    return {
      rate: speeds[i]!,
      travel: [sway, 0],
      displacements: runsOf(vehicle, "baseline", i, noise),
      refits: mountings.map(({ shared, own }) => ({
        baseline: scaled(baseline, shared * own[0]),
        candidate: scaled(candidate, shared * own[1]),
      })),
    };
  });
  const exact = Math.hypot(...runsOf(heavy, "candidate", 0, 0)[0]!) / size(0);
  const heavier = { mass: vehicle.mass / heavy.mass, inertia: vehicle.inertia / heavy.inertia };
  const total = ({ gravity, inertia }: { gravity: number; inertia: number }): number =>
    gravity + inertia * (2 * Math.PI * speeds[0]!) ** 2;
  const ratios = [1 - taken, Math.abs(total(truth[0]!.candidate) / total(truth[0]!.baseline))];
  return {
    places,
    heavier,
    flown: runsOf(heavy, "candidate", 0, noise),
    factor: exact,
    byForce: [Math.min(heavier.mass, heavier.inertia) * (1 - taken), 1 - taken],
    range: [Math.min(heavier.mass, heavier.inertia) * Math.min(...ratios), Math.max(...ratios)],
  };
}

const lengthOfMean = (all: readonly Phasor[]): number =>
  Math.hypot(...[0, 1].map((k) => all.reduce((sum, one) => sum + one[k]!, 0) / all.length));

interface Counts {
  readonly transfers: { held: number; of: number };
  readonly law: { held: number; of: number };
  /** true ratio outside of what the force's reduction and the added mass allow: refused, or held by the law's wider range */
  readonly outside: { safe: number; of: number };
}

function counted(pairs: number, seed: number): Counts {
  const random = seededRandom(seed);
  const counts: Counts = { transfers: { held: 0, of: 0 }, law: { held: 0, of: 0 }, outside: { safe: 0, of: 0 } };
  for (let i = 0; i < pairs; i++) {
    const rate = 0.3 + 0.5 * random.uniform();
    const { places, heavier, flown, factor, range, byForce } = drawn(random, i % 2 === 1, [rate, rate, rate]);
    const value = lengthOfMean(flown);
    const law = ratioLaw(places[0]!, heavier, flights);
    for (const [name, found] of [
      ["transfers", twoTransfers(places, 0, heavier, flights)],
      ["law", law],
    ] as const) {
      if ("refused" in found) continue;
      counts[name].of++;
      if (found.prediction[0] <= value && value <= found.prediction[1]) counts[name].held++;
    }
    const [low, high] = byForce;
    if (factor >= low && factor <= high) continue;
    counts.outside.of++;
    if ("refused" in law || (factor >= range[0] && factor <= range[1])) counts.outside.safe++;
  }
  return counts;
}

function hold(pairs: number, [least, most]: readonly [number, number]): void {
  const { transfers, law, outside } = counted(pairs, 20261201);
  const both = (transfers.held + law.held) / (transfers.of + law.of);
  expect(both).toBeGreaterThanOrEqual(least);
  expect(both).toBeLessThanOrEqual(most);
  // neither is a method that never speaks
  expect(transfers.of).toBeGreaterThan(0.6 * pairs);
  expect(law.of).toBeGreaterThan(0.4 * pairs);
  expect(outside.of).toBeGreaterThan(0.2 * pairs);
  expect(outside.safe / outside.of).toBeGreaterThanOrEqual(least + 0.05);
}

describe("simulated benches with their flights, half of them with weights at another height than the arm", () => {
  // 60 predictions and more know a share of 0.97 to 2 %
  test("of 30 pairs the predictions hold what was flown in 85 of 100 or more", () => {
    hold(30, [0.85, 1]);
  });

  describeWith(["slow"], "300 pairs", () => {
    test("predictions hold what was flown in 90 to 99 of 100, and no ratio outside of the law's range is passed", () => {
      hold(300, [0.9, 0.99]);
    });
  });

  test("three speeds instead of three heights: the transfers are not one for all; that is refused, or stands in the interval", () => {
    const random = seededRandom(5);
    let [spoke, held] = [0, 0];
    for (let i = 0; i < 60; i++) {
      const { places, heavier, flown } = drawn(random, i % 2 === 1, [0.5, 0.35, 0.7]);
      const found = twoTransfers(places, 0, heavier, flights);
      if ("refused" in found) continue;
      spoke++;
      const value = lengthOfMean(flown);
      if (found.prediction[0] <= value && value <= found.prediction[1]) held++;
    }
    expect(spoke).toBeLessThan(55);
    expect(held / spoke).toBeGreaterThanOrEqual(0.9);
  });
});

describe("what gives no number says why", () => {
  const refit = (mass: number, inertia: number) => ({ mass, gravity: g * mass, inertia });
  const place = (height: number, changes: Partial<BaselinePlace> = {}): BaselinePlace => ({
    rate: 0.5,
    travel: [0.05, 0],
    displacements: [
      [0.01, 0.001],
      [0.0101, 0.0009],
      [0.0099, 0.0011],
    ],
    refits: [1, 1.01, 0.99].map((by) => ({
      baseline: refit(0.6 * by, 0.6 * by * height),
      candidate: refit(0.09 * by, 0.09 * by * height),
    })),
    ...changes,
  });
  const heavier: Heavier = { mass: 0.9, inertia: 0.92 };

  test("the ratio law: 0.15 of 10 mm, of it 90 to 100 %", () => {
    const found = ratioLaw(place(-0.2), heavier, 3);
    if ("refused" in found) throw new Error(found.refused);
    const size = Math.hypot(0.01, 0.001);
    expect(found.range[0]).toBeCloseTo(0.9 * 0.15 * size, 9);
    expect(found.range[1]).toBeCloseTo(0.15 * size, 9);
  });

  // by hand: W^2 = pi^2; arm 0.6 (g - 0.2 pi^2), weights of 0.51 kg at the centre of mass take 0.51 g of it
  test("weights at another height: reductions of 85 % and of more than all", () => {
    const refits = place(-0.2).refits.map(({ baseline }) => ({ baseline, candidate: refit(0.09, 0.6 * -0.2) }));
    const { force, moment } = reductionsAt(refits, 0.5);
    expect(force).toBeCloseTo(0.85, 9);
    const square = Math.PI ** 2;
    expect(moment).toBeCloseTo(1 - (g * 0.09 - 0.12 * square) / (0.6 * g - 0.12 * square), 6);
    expect(ratioLaw(place(-0.2, { refits }), heavier, 3)).toMatchObject({
      refused: expect.stringContaining("force and moment are reduced differently (85 % and 1"),
    });
  });

  test("two transfers of trajectories that keep one ratio, of two alone, of a bench of one refit", () => {
    const same = [-0.2, -0.2, -0.2].map((height) => place(height));
    expect(twoTransfers(same, 0, heavier, 3)).toMatchObject({ refused: expect.stringContaining("collinear") });
    expect(twoTransfers(same.slice(1), 0, heavier, 3)).toMatchObject({ refused: expect.stringContaining("found 2") });
    const one = place(-0.2, { refits: place(-0.2).refits.slice(1, 2) });
    expect(ratioLaw(one, heavier, 3)).toMatchObject({ refused: expect.stringContaining("two refits") });
    expect(twoTransfers([one, ...same.slice(1)], 0, heavier, 3)).toMatchObject({
      refused: expect.stringContaining("two refits"),
    });
  });
});
