import { describe, expect, test } from "vitest";
import { armCycles } from "../../src/bench/armCycles.ts";
import { magnitude } from "../../src/bench/phasor.ts";
import { gravityAndInertia, growthExponent, overRefits, ratioOverRefits } from "../../src/bench/refits.ts";
import { aliasOf, filterResponse, resonanceError, ringDown, spectralPeak } from "../../src/bench/resonance.ts";
import { splitWrench } from "../../src/bench/splitWrench.ts";
import { aboutPoint, exertedByArm } from "../../src/bench/wrench.ts";
import { benchChannels } from "../../src/contract/benchDeclaration.ts";
import { benchSettings } from "../../src/contract/benchSettings.ts";
import { standardGravity } from "../../src/foundation/units.ts";
import { secondOrder, standTruth } from "../../src/simulation/benchStand.ts";

const values = (column: readonly number[]) => column.map((value, i) => ({ refit: String(i), value }));

describe("statics", () => {
  test("a wrench moved by a lever gains its moment of force", () => {
    // F (0.5, 0, -10), M (0, 0.2, 0), r (0, 0, 85 mm): M_y = 0.2 + 0.085 x 0.5, by hand
    const { force, moment } = aboutPoint({ force: [0.5, 0, -10], moment: [0, 0.2, 0] }, [0, 0, 0.085], [0, 0, 0]);
    expect(force).toEqual([0.5, 0, -10]);
    expect(moment[1]).toBeCloseTo(0.2425, 15);
    expect([moment[0], moment[2]].map((value) => value + 0)).toEqual([0, 0]);
  });

  test("the columns are moved and turned as the one wrench is", () => {
    const one = (value: number) => Float64Array.of(value);
    const wrench = { fx: one(0.5), fy: one(1), fz: one(-10), mx: one(0.3), my: one(0.2), mz: one(-0.1) };
    // half a turn about x: y and z the other way
    const at = { translation: [0.01, 0.02, 0.085], rotation: [1, 0, 0, 0] } as const;
    const found = exertedByArm(wrench, { at, sign: "on_sensor" }, [0, 0, 0]);
    const expected = aboutPoint({ force: [0.5, -1, 10], moment: [0.3, -0.2, 0.1] }, at.translation, [0, 0, 0]);
    expect([found.fx, found.fy, found.fz].map((column) => column[0])).toEqual([0.5, -1, 10]);
    for (const [k, name] of (["mx", "my", "mz"] as const).entries())
      expect(found[name][0]).toBeCloseTo(expected.moment[k]!, 14);
    const other = exertedByArm(wrench, { at, sign: "on_arm" }, [0, 0, 0]);
    expect(other.fx[0]).toBe(-0.5);
    expect(other.my[0]).toBe(-found.my[0]!);
  });

  test("moving 50.73 g m in 1.9 s shakes with 0.55478 N, and its weight turns with 0.49749 N m", () => {
    // u S = 0.05073 kg m; (2 pi / 1.9)^2 and g by arithmetic
    const truth = standTruth([{ mass: 0.6764, at: [0, 0, 0], travel: [1, 1, 1] }]);
    const travel = 0.05073 / 0.6764;
    expect(truth.u[0] * travel * ((2 * Math.PI) / 1.9) ** 2).toBeCloseTo(0.55478, 5);
    expect(truth.gravitational.my * travel).toBeCloseTo(0.49749, 5);
    expect(truth.gravitational.mx).toBeCloseTo(-truth.u[1] * standardGravity, 12);
  });
});

describe("over refits", () => {
  test("growth: one slope per refit, and Student's interval over them", () => {
    // f 0.25, 0.35, 0.5; columns are refits. Least squares on logarithms: slopes 2.0068, 1.9862, 2.0142;
    // 2.0024, 1.966 to 2.039 with two degrees of freedom. All nine as readings would say 1.937 to 2.068.
    const rates = [0.25, 0.35, 0.5];
    const force = [
      [0.51, 0.53, 0.5],
      [1.01, 1.04, 0.99],
      [2.05, 2.1, 2.02],
    ];
    const readings = force.flatMap((row, i) =>
      row.map((value, refit) => ({ refit: String(refit), rate: rates[i]!, value })),
    );
    const slopes = [0, 1, 2].map(
      (refit) =>
        growthExponent(
          readings.filter((one) => one.refit === String(refit)),
          3,
          0.95,
        )!.value,
    );
    for (const [i, slope] of [2.0068, 1.9862, 2.0142].entries())
      expect(Math.abs(slopes[i]! - slope)).toBeLessThan(5e-5);
    const found = growthExponent(readings, 3, 0.95)!;
    expect(found.df).toBe(2);
    expect(Math.abs(found.value - 2.0024)).toBeLessThan(5e-5);
    expect(Math.abs(found.ci95![0] - 1.966)).toBeLessThan(5e-4);
    expect(Math.abs(found.ci95![1] - 2.039)).toBeLessThan(5e-4);
  });

  test("a moment is gravity's part and inertia's, not a power of the speed", () => {
    // M = 0.5 + 0.05 (2 pi f)^2 0.2 at 0.25, 0.5, 1, 2 Hz: a + b f^2 with b = 0.39478 by arithmetic; a log-log slope says 0.654
    const rates = [0.25, 0.5, 1, 2];
    const readings = rates.map((rate) => ({ refit: "1", rate, value: 0.5 + 0.05 * (2 * Math.PI * rate) ** 2 * 0.2 }));
    const found = gravityAndInertia(readings, 3, 0.95)!;
    expect(found.gravitational.value).toBeCloseTo(0.5, 12);
    expect(found.inertial.value).toBeCloseTo(0.01, 12);
    expect(found.inertial.value * (2 * Math.PI) ** 2).toBeCloseTo(0.39478, 5);
    expect(Math.abs(growthExponent(readings, 3, 0.95)!.value - 0.654)).toBeLessThan(5e-4);
    expect(gravityAndInertia(readings.slice(0, 2), 3, 0.95)).toBeNull();
  });

  test("ratio without common refits: Fieller with Satterthwaite", () => {
    // 0.20875, 0.1815 to 0.2359 (Fieller 1954, arithmetic)
    const baseline = values([1.02, 0.97, 1.05, 1, 0.99]);
    const candidate = values([0.21, 0.18, 0.24, 0.2, 0.22]).map((one) => ({ ...one, refit: `c${one.refit}` }));
    const found = ratioOverRefits(baseline, candidate, 0.95);
    expect(found.method).toBe("welch");
    expect(Math.abs(found.ratio! - 0.20875)).toBeLessThan(5e-6);
    expect(Math.abs(found.ci95![0] - 0.1815)).toBeLessThan(5e-5);
    expect(Math.abs(found.ci95![1] - 0.2359)).toBeLessThan(5e-5);
  });

  test("a baseline of 3, 1, 2 bounds no ratio", () => {
    // on its own two degrees of freedom g = t^2 s^2 / (n b^2) = 1.543 > 1 (Fieller 1954)
    const baseline = values([3, 1, 2]);
    expect(
      ratioOverRefits(
        baseline,
        values([1, 1.2, 1.1]).map((one) => ({ ...one, refit: `c${one.refit}` })),
        0.95,
      ).ci95,
    ).toBeNull();
    expect(ratioOverRefits(baseline, values([1, 1.2, 1.1]), 0.95).ci95).toBeNull();
  });

  test("paired: the ends are where the paired t of c - rho b is exactly its critical value", () => {
    // the definition itself, by a second way: Student's statistic of the differences at both ends; t(0.975, 4) = 2.776445 (tables)
    const b = [1.02, 0.97, 1.05, 1, 0.99];
    const c = [0.21, 0.18, 0.24, 0.2, 0.22];
    const found = ratioOverRefits(values(b), values(c), 0.95);
    expect(found.method).toBe("paired");
    for (const rho of found.ci95!) {
      const d = c.map((value, i) => value - rho * b[i]!);
      const centre = d.reduce((sum, value) => sum + value, 0) / 5;
      const sd = Math.sqrt(d.reduce((sum, value) => sum + (value - centre) ** 2, 0) / 4);
      expect(Math.abs((centre / sd) * Math.sqrt(5))).toBeCloseTo(2.776445, 5);
    }
  });

  test("what a refit does to both sides alike leaves the ratio certain", () => {
    const scale = [0.8, 1, 1.3, 0.9, 1.1];
    const found = ratioOverRefits(values(scale), values(scale.map((one, i) => 0.2 * one * (1 + 1e-6 * i))), 0.95);
    expect(found.ratio).toBeCloseTo(0.2, 5);
    expect(found.ci95![1] - found.ci95![0]).toBeLessThan(1e-5);
  });

  test("a mean over three refits has two degrees of freedom", () => {
    // 10, 11, 12: sd 1, t(0.975, 2) = 4.302653 (tables): 11 +- 2.484
    expect(overRefits([10, 11, 12], 0.95)!.ci95![1]).toBeCloseTo(11 + 4.302653 / Math.sqrt(3), 5);
  });
});

describe("resonance, aliases, filters", () => {
  test("a fixture at 10, 5 and 10/3 times the rate reads 1.01, 4.17, 9.89 % too much", () => {
    for (const [ratio, percent] of [
      [0.1, 1.01],
      [0.2, 4.17],
      [0.3, 9.89],
    ] as const)
      expect(Math.abs(100 * resonanceError(ratio) - percent)).toBeLessThan(0.005);
  });

  test("a resonator's steady answer to a slow sine is larger by that much", () => {
    // 2 Hz through 10 Hz, damping 0.001: gain 1 / |1 - r^2 + 2 j zeta r| by theory
    const dt = 1 / 2000;
    const x = Float64Array.from({ length: 40_000 }, (_, i) => Math.cos(2 * Math.PI * 2 * i * dt));
    const y = secondOrder(x, dt, { frequency: 10, damping: 0.05 });
    const last = y.subarray(30_000);
    const gain = Math.max(...last);
    expect(gain).toBeCloseTo(1 / Math.hypot(1 - 0.04, 2 * 0.05 * 0.2), 2);
    expect(gain - 1).toBeCloseTo(resonanceError(0.2), 2);
  });

  test("aliases: 999.4 Hz at 1000, 190 and 100 at 100", () => {
    expect(aliasOf(999.4, 1000)).toBeCloseTo(0.6, 10);
    expect(aliasOf(190, 100)).toBe(10);
    expect(aliasOf(100, 100)).toBe(0);
  });

  test("a sampled sine shows where its alias is", () => {
    const rate = 100;
    const sampled = Float64Array.from({ length: 1000 }, (_, i) => Math.cos((2 * Math.PI * 188.3 * i) / rate));
    expect(spectralPeak(sampled, rate)).toBeCloseTo(aliasOf(188.3, rate), 2);
  });

  test.each([1, 2, 3, 4])(
    "a Butterworth of order %i halves the power at its cutoff, and loses 6 dB an octave and order",
    (order) => {
      const filter = { kind: "low-pass", order, cutoff: 73 } as const;
      expect(magnitude(filterResponse(filter, 73))).toBeCloseTo(Math.SQRT1_2, 12);
      // |H|^2 = 1 / (1 + (f/fc)^2n), S. Butterworth 1930
      for (const f of [5, 40, 200])
        expect(magnitude(filterResponse(filter, f))).toBeCloseTo(1 / Math.sqrt(1 + (f / 73) ** (2 * order)), 12);
      expect(filterResponse(filter, 5)[1]).toBeLessThan(0);
    },
  );

  test("the lag of the second-order filter at a low rate is sqrt(2) f / fc radians", () => {
    const [re, im] = filterResponse({ kind: "low-pass", order: 2, cutoff: 73 }, 0.73);
    expect(-Math.atan2(im, re)).toBeCloseTo(Math.SQRT2 * 0.01, 5);
    const rc = filterResponse({ kind: "rc", order: 3, cutoff: 10 }, 10);
    expect(magnitude(rc)).toBeCloseTo(Math.SQRT1_2, 12);
  });

  test("a ring-down gives its frequency and damping back", () => {
    // x = exp(-zeta w t) sin(w_d t): 18 Hz, zeta 0.03
    const [rate, frequency, damping] = [2000, 18, 0.03];
    const w = 2 * Math.PI * frequency;
    const ring = Float64Array.from({ length: 4000 }, (_, i) => {
      const time = i / rate;
      return 10 * Math.exp(-damping * w * time) * Math.sin(w * Math.sqrt(1 - damping ** 2) * time);
    });
    const found = ringDown(ring, rate, 0.001)!;
    // the peaks are read at samples, the spectrum under a window over a decay: within 0.5 and 2 %
    expect(found.frequency / frequency).toBeCloseTo(1, 2);
    expect(Math.abs(found.damping / damping - 1)).toBeLessThan(0.02);
    expect(
      ringDown(
        ring.map((value) => value * 1e-5),
        rate,
        0.001,
      ),
    ).toBeNull();
  });
});

describe("phase and split", () => {
  const rate = 200;
  const t = Float64Array.from({ length: 24 * rate }, (_, i) => i / rate);
  /** at rest for 2 s, then ten cycles of 1.9 s, then at rest */
  const arm = (shape: (theta: number) => number, cycles = 10, period = 1.9) => ({
    t,
    x: t.map((time) => shape(2 * Math.PI * Math.min(Math.max((time - 2) / period, 0), cycles))),
    y: new Float64Array(t.length),
    z: new Float64Array(t.length),
  });
  const raised = (theta: number): number => 0.075 * (1 - Math.cos(theta));

  test("period, rests and travel of a raised cosine", () => {
    const found = armCycles(arm(raised), benchSettings);
    if (typeof found === "string") throw new Error(found);
    expect(found.period).toBeCloseTo(1.9, 5);
    expect(magnitude(found.travel.x[0]!)).toBeCloseTo(0.075, 6);
    // theta = 0 at the far end
    expect(found.travel.x[0]![0]).toBeCloseTo(0.075, 5);
    // it starts so gently that a five-hundredth of the stroke takes 0.05 s
    expect(Math.abs(found.before![1] - 2)).toBeLessThan(0.12);
    expect(found.cycles).toBeGreaterThanOrEqual(8);
    expect(magnitude(found.travel.x[1]!)).toBeLessThan(1e-5);
  });

  test("an arm that rests, and one that goes once, are no runs", () => {
    expect(
      armCycles(
        arm(() => 0.1),
        benchSettings,
      ),
    ).toBe("does-not-move");
    expect(armCycles(arm(raised, 1), benchSettings)).toBe("few-cycles");
  });

  test("drift is taken out together with the harmonics, exactly", () => {
    const window = [2, 2 + 8 * 1.9] as const;
    const theta = (time: number): number => (2 * Math.PI * (time - 2)) / 1.9;
    const wrench = Object.fromEntries(
      benchChannels.map((name, c) => [
        name,
        t.map(
          (time) =>
            3 +
            0.02 * (time - 9.6) +
            0.4 * Math.cos(theta(time)) -
            0.3 * Math.sin(theta(time)) +
            0.05 * (c + 1) * Math.sin(2 * theta(time)),
        ),
      ]),
    ) as Parameters<typeof splitWrench>[1];
    const { fy } = splitWrench(t, wrench, { window, cycles: 8, period: 1.9 }, benchSettings)!;
    expect(fy.drift).toBeCloseTo(0.02, 12);
    expect(fy.mean).toBeCloseTo(3, 9);
    expect(fy.harmonics[0]!.cos).toBeCloseTo(0.4, 12);
    expect(fy.harmonics[0]!.sin).toBeCloseTo(-0.3, 12);
    expect(fy.harmonics[1]!.sin).toBeCloseTo(0.1, 12);
    expect(fy.rms.cycle).toBeCloseTo(Math.sqrt((0.16 + 0.09 + 0.01) / 2), 9);
  });
});
