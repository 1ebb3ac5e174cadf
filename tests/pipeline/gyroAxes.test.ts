import { describe, expect, test } from "vitest";
import type { RecordedSignal, Recording } from "../../src/foundation/recording.ts";
import { flightSettings } from "../../src/simulation/flightSettings.ts";
import { simulateFlight } from "../../src/simulation/simulateFlight.ts";
import { toRecording } from "../support/toRecording.ts";
import { checksOf, evaluateFlights, shortFlight, shortManifest } from "./shortCampaign.ts";

describe("the offset of each axis in calm air, where one of them hardly turns", () => {
  // of a first hundred such flights, some of those whose noise passed for an offset of its own at three standard errors
  test.each([
    { seed: 17, air: 0.3, yaw: 0.07, hold: 25, rate: 240, noise: 2e-3 },
    { seed: 45, air: 0.03, yaw: 0.005, hold: 10, rate: 120, noise: 3e-4 },
    { seed: 70, air: 0.03, yaw: 0.02, hold: 17, rate: 200, noise: 7e-4 },
  ])("is not said to differ (%o)", async ({ seed, air, yaw, hold, rate, noise }) => {
    const flight = flightSettings({
      trajectory:
        seed === 70
          ? { shape: "hold", duration: 40 }
          : { shape: "line", axis: "x", stroke: 0.15, period: 1.9, cycles: 10, rampIn: 1 },
      timeline: { hold },
      capture: { rate, attitudeNoise: noise },
      air: { force: [air, air, air], torque: [0.2 * air, 0.2 * air, yaw * air] },
      clock: { offset: -0.137, skew: 2e-5, boot: 0n },
    });
    const logs = { "a.bag": simulateFlight(flight, seed) };
    const [run] = (await evaluateFlights(logs, shortManifest(["a.bag"], { flight }))).runs;
    expect(checksOf(run!, "clock-axes-disagree")).toEqual([]);
  });
});

describe("a gyro that is mounted askew", () => {
  const recorded = toRecording(shortFlight(11));
  /** The gyro turned about the vertical: its x points `angle` radians to the left of the vehicle's. */
  const turned = (angle: number): Recording => {
    const gyro = recorded.signals.get("vehicle_rate") as RecordedSignal;
    const { wx, wy } = gyro.columns as Readonly<Record<string, Float64Array>>;
    const [c, s] = [Math.cos(angle), Math.sin(angle)];
    const columns = {
      ...gyro.columns,
      wx: wx!.map((x, i) => c * x + s * wy![i]!),
      wy: wy!.map((y, i) => c * y - s * wx![i]!),
    };
    return { ...recorded, signals: new Map(recorded.signals).set("vehicle_rate", { ...gyro, columns }) };
  };

  test.each([60, 120])("by %i degrees is reported as that, and not as another flight", async (degrees) => {
    const log = turned((degrees * Math.PI) / 180);
    // whether its clock is to be found by it, or is known
    for (const captureClock of ["gyro", "known"] as const) {
      const [run] = (await evaluateFlights({ "a.bag": log }, shortManifest(["a.bag"], { captureClock }))).runs;
      const messages = run!.checks.map(({ message }) => message).join("\n");
      expect(messages).not.toContain("different flights");
      // to some degrees: the capture's noise; the turn may be given from either side
      const found = Number(/turned by (\d+) degrees about \(-?0\.\d\d, -?0\.\d\d, -?[01]\.\d\d\)/.exec(messages)?.[1]);
      expect(Math.abs(found - degrees)).toBeLessThan(5);
    }
  });
});
