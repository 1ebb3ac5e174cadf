import { describe, expect, test } from "vitest";
import { type HoverPower, hoverOutput, hoverPower, rmsEffort } from "../../src/metrics/hoverPower.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { flightSettings } from "../../src/simulation/flightSettings.ts";
import { simulateFlight } from "../../src/simulation/simulateFlight.ts";

const column = (values: readonly number[]): Float64Array => Float64Array.from(values);
const seconds = Float64Array.from({ length: 20 }, (_, i) => i / 2);
const all = [0, 100] as const;
const of = (current: readonly number[] | number, voltage: readonly number[] | number = 20) =>
  hoverPower(
    seconds,
    typeof voltage === "number" ? seconds.map(() => voltage) : column(voltage),
    typeof current === "number" ? seconds.map(() => current) : column(current),
    all,
  );
const power = (found: ReturnType<typeof of>): number | null => ("why" in found ? null : found.power);
const why = (found: ReturnType<typeof of>): string => ("why" in found ? found.why : "");

describe("power in hover from volts and amperes", () => {
  test("20 V and 30 A are 600 W, whichever sign the log has for what a battery gives", () => {
    expect(of(30)).toEqual({ power: 600, voltage: 20, current: 30, samples: 20, leftOut: 0, discharge: "positive" });
    expect(of(-30)).toMatchObject({ power: 600, current: 30, discharge: "negative" });
  });

  test("products are averaged: what ripples together counts, 22 V x 40 A and 18 V x 20 A are 620 W, not 600 W", () => {
    const rippling = [...seconds].map((_, i) => i % 2);
    const found = of(
      rippling.map((odd) => (odd ? 40 : 20)),
      rippling.map((odd) => (odd ? 22 : 18)),
    );
    expect(found).toMatchObject({ power: 620, voltage: 20, current: 30 });
  });

  test("only what lies in the window counts, its end left out", () => {
    const current = [...seconds].map((t) => (t >= 2 && t < 7 ? 30 : 300));
    expect(
      power(
        hoverPower(
          seconds,
          seconds.map(() => 20),
          column(current),
          [2, 7],
        ),
      ),
    ).toBe(600);
  });

  test.each([Number.NaN, 0, -1])(
    "readings of %s stand for not measured: a few are left out, half of them leave no power",
    (mark) => {
      const some = [...seconds].map((_, i) => (i < 6 ? mark : 30));
      expect(of(some)).toMatchObject({ power: 600, samples: 14, leftOut: 6 });
      const most = [...seconds].map((_, i) => (i < 11 ? mark : 30));
      expect(why(of(most))).toBe("11 of 20 readings are marked as not measured (NaN, 0 or -1 A, or no voltage)");
      expect(why(of(mark))).toMatch(/20 of 20 readings are marked|no current was logged/);
    },
  );

  test("a voltage of 0 is none", () => {
    expect(why(of(30, 0))).toContain("no voltage");
  });

  test("a current of both signs is no hover, a stray reading of the other sign is", () => {
    const mixed = [...seconds].map((_, i) => (i % 4 === 0 ? -2 : 30));
    expect(why(of(mixed))).toBe("the current has both signs (25 % of the readings are of the rarer one)");
    expect(power(of([...seconds].map((_, i) => (i === 3 ? -2 : 30))))).toBe((19 * 600 - 40) / 20);
  });

  test("no reading in the window, no power", () => {
    expect(why(hoverPower(seconds, seconds, seconds, [50, 60]))).toBe(
      "0 readings of the battery in the hold window, 5 are needed",
    );
  });
});

describe("against the simulated battery", () => {
  const truth = flightSettings({ timeline: { hold: 12 } });
  const flight = simulateFlight(truth, 11);
  const signal = flight.signals.find(({ signal: name }) => name === "battery")!;
  const { voltage, current } = signal.columns as { voltage: Float64Array; current: Float64Array };
  const t = signal.received.seconds;
  // in hover: 32 A x (m / 4.6)^1.5 (src/simulation/onboard.ts), with 0.8 A of noise a reading
  const hover = 32 * (truth.vehicle.mass / 4.6) ** 1.5;
  const window = [t[t.length - 40]!, t[t.length - 1]! + 1] as const;
  const found = hoverPower(t, voltage, current, window) as HoverPower;

  test("mean current and power are the truth within four standard errors of the noise", () => {
    const error = (4 * 0.8) / Math.sqrt(found.samples);
    expect(Math.abs(found.current - hover)).toBeLessThan(error);
    expect(Math.abs(found.power - hover * found.voltage)).toBeLessThan(error * found.voltage);
    expect(found.discharge).toBe("negative");
  });

  test("a turned sign changes nothing, a gain of 1.08 makes 8 % and is the same factor for every configuration", () => {
    const turned = hoverPower(
      t,
      voltage,
      current.map((value) => -value),
      window,
    ) as HoverPower;
    expect(turned.power).toBeCloseTo(found.power, 9);
    const gained = hoverPower(
      t,
      voltage,
      current.map((value) => 1.08 * value),
      window,
    ) as HoverPower;
    expect(gained.power / found.power).toBeCloseTo(1.08, 12);
  });

  test("a sensor that drops out for a third of its readings moves the mean by no more than its noise", () => {
    const random = seededRandom(3);
    const dropping = current.map((value) => (random.uniform() < 1 / 3 ? -1 : value));
    const less = hoverPower(t, voltage, dropping, window) as HoverPower;
    expect(Math.abs(less.power - found.power)).toBeLessThan(((4 * 0.8) / Math.sqrt(less.samples)) * found.voltage);
  });
});

describe("output of the motors in hover", () => {
  const rippling = (mean: number): Float64Array => seconds.map((t) => mean + (t % 1 === 0 ? 0.01 : -0.01));
  test("is the mean over the channels that move, as a share of full", () => {
    const shares = [rippling(0.5), rippling(0.7), seconds.map(() => 0), seconds.map(() => 0.35)];
    const found = hoverOutput(seconds, shares, all, { idle: 0, full: 1 })!;
    expect(found).toMatchObject({ mean: expect.closeTo(0.6, 12), highest: expect.closeTo(0.7, 12), channels: 2 });
    // 1000 to 2000 us
    const pulses = shares.map((column) => column.map((value) => 1000 + 1000 * value));
    expect(hoverOutput(seconds, pulses, all, { idle: 1000, full: 2000 })!.mean).toBeCloseTo(0.6, 12);
  });

  test("none where no channel moves, or none is in the window", () => {
    expect(hoverOutput(seconds, [seconds.map(() => 0.4)], all, { idle: 0, full: 1 })).toBeNull();
    expect(hoverOutput(seconds, [rippling(0.5)], [50, 60], { idle: 0, full: 1 })).toBeNull();
    expect(hoverOutput(seconds, [], all, { idle: 0, full: 1 })).toBeNull();
  });
});

describe("effort of the arm", () => {
  // a sine of amplitude 2 over whole periods about 1: sqrt(1 + 2^2 / 2)
  const t = Float64Array.from({ length: 400 }, (_, i) => i / 40);
  const effort = t.map((at) => 1 + 2 * Math.sin(2 * Math.PI * at));
  test("is the root mean square of what is measured in the window, offset and all", () => {
    expect(rmsEffort(t, effort, [0, 10])).toBeCloseTo(Math.sqrt(3), 12);
    expect(
      rmsEffort(
        t,
        effort.map((value) => -value),
        [2, 7],
      ),
    ).toBeCloseTo(Math.sqrt(3), 12);
  });

  test("is none where half of the readings are no number, or none is in the window", () => {
    expect(
      rmsEffort(
        t,
        effort.map((value, i) => (i % 3 ? Number.NaN : value)),
        [0, 10],
      ),
    ).toBeNull();
    expect(rmsEffort(t, effort, [20, 30])).toBeNull();
  });
});
