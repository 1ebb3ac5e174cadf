import { expect, test } from "vitest";
import { CounterpoiseError, NotFiniteError } from "../../src/foundation/errors.ts";
import { flightSettings } from "../../src/simulation/flightSettings.ts";
import { matrixExponential } from "../../src/simulation/propagate.ts";
import { simulateFlight, varyRun } from "../../src/simulation/simulateFlight.ts";
import { harmonicTruth } from "../../src/simulation/trueErrors.ts";
import { stillAir } from "../support/stillAir.ts";
import { signalOf } from "./signalOf.ts";

const hold = { shape: "hold", duration: 30 } as const;

test("the estimate does not see its own drift: it stands where the vehicle believes to be", () => {
  const settings = flightSettings(
    {
      trajectory: hold,
      drift: { bias: [0.01, 0, 0], slope: [1e-3, 0, 0] },
      estimate: { rate: 50, positionNoise: 0, attitudeNoise: 0, delay: 0 },
    },
    flightSettings(stillAir),
  );
  const flight = simulateFlight(settings, 2);
  const estimate = signalOf(flight, "vehicle_estimate").columns.x!;
  const captured = signalOf(flight, "vehicle_pose").columns.x!;
  expect(estimate.every((x) => x === settings.setpoint[0])).toBe(true);
  // 10 mm + 1 mm/s x 30 s, the last sample up to 10 ms earlier
  expect(captured.at(-1)! - settings.setpoint[0]).toBeGreaterThan(0.03998);
  expect(captured.at(-1)! - settings.setpoint[0]).toBeLessThan(0.04);
});

test("a late estimate shows the state of `delay` before its stamp", () => {
  const make = (delay: number) =>
    simulateFlight(
      flightSettings({
        trajectory: hold,
        estimate: { rate: 50, positionNoise: 0, attitudeNoise: 0, delay },
      }),
      2,
    );
  const prompt = signalOf(make(0), "vehicle_estimate").columns.y!;
  const late = signalOf(make(0.06), "vehicle_estimate").columns.y!;
  // three messages of 20 ms; sample times k / 50 differ by rounding
  for (const i of [100, 700, 1300]) expect(late[i]!).toBeCloseTo(prompt[i - 3]!, 12);
});

test("setpoint and arm command are logged as declared, level and at rest before the cycles", () => {
  const flight = simulateFlight(flightSettings(), 2);
  const setpoint = signalOf(flight, "vehicle_setpoint").columns;
  for (const [name, value] of Object.entries({ x: 0.4, y: -0.2, z: 1.5, qx: 0, qy: 0, qz: 0, qw: 1 }))
    expect(setpoint[name]!.every((found) => found === value)).toBe(true);
  const command = signalOf(flight, "effector_command");
  const { cycleStart, period, cycles } = flight.truth;
  command.stamped!.seconds.forEach((t, i) => {
    // circle of 60 mm about (140, 0, -160) mm in yz, theta = 0 at +y
    const theta = t < cycleStart ? 0 : t > cycleStart + cycles * period ? 0 : (2 * Math.PI * (t - cycleStart)) / period;
    expect(command.columns.x![i]).toBe(0.14);
    // stamps are whole nanoseconds
    expect(command.columns.y![i]!).toBeCloseTo(0.06 * Math.cos(theta), 9);
    expect(command.columns.z![i]!).toBeCloseTo(-0.16 + 0.06 * Math.sin(theta), 9);
  });
});

test("the battery discharges: a heavier vehicle draws more and sags lower", () => {
  const of = (mass: number) => {
    const settings = flightSettings({ trajectory: hold, counterweights: mass > 0 ? [{ mass, at: [0, 0, 0] }] : [] });
    const { voltage, current } = signalOf(simulateFlight(settings, 2), "battery").columns;
    const mean = (column: Float64Array): number => column.reduce((a, b) => a + b, 0) / column.length;
    return { first: mean(voltage!.slice(0, 10)), last: mean(voltage!.slice(-10)), current: mean(current!) };
  };
  const bare = of(0);
  const loaded = of(2);
  expect(bare.last).toBeLessThan(bare.first);
  expect(bare.first).toBeGreaterThan(6 * 3.5);
  expect(bare.first).toBeLessThan(6 * 4.2);
  // induced power goes with mass^1.5: 32 A x (6.6 / 4.6)^1.5 = 55.0 A; 60 readings of sd 0.8 A: 0.1 A, limit 5 of them
  expect(Math.abs(loaded.current + 32 * (6.6 / 4.6) ** 1.5)).toBeLessThan(0.52);
  expect(loaded.last).toBeLessThan(bare.last);
});

test("without spread between runs every run flies the settings as they are", () => {
  const settings = flightSettings({ between: { gain: 0, air: 0, arm: 0, bias: 0, slope: 0 } });
  expect(varyRun(settings, 5)).toEqual(settings);
});

test("loop gains spread between runs as set: a frequency by half of it", () => {
  const settings = flightSettings({ between: { gain: 0.1 } });
  const logs = Array.from({ length: 400 }, (_, seed) => Math.log(varyRun(settings, seed).vehicle.yawLoop.frequency));
  const sd = Math.sqrt(logs.reduce((sum, value) => sum + value * value, 0) / 400);
  // 400 values: sd to 3.5 %; limit 5 of them
  expect(Math.abs(sd / 0.05 - 1)).toBeLessThan(0.177);
});

test("matrixExponential refuses NaN, harmonicTruth a window with fewer samples than coefficients", () => {
  expect(() => matrixExponential(Float64Array.of(0, Number.NaN, 0, 0), 2)).toThrow(NotFiniteError);
  const times = Float64Array.from({ length: 10 }, (_, i) => i);
  expect(() => harmonicTruth(times, [times], { from: 0, to: 10, period: 5 })).toThrow(CounterpoiseError);
});
