import { describe, expect, test } from "vitest";
import type { RunEvaluation } from "../../src/contract/evaluation.ts";
import type { Recording } from "../../src/foundation/recording.ts";
import type { SignalName } from "../../src/foundation/tracks.ts";
import type { FlightSettings } from "../../src/simulation/flightShape.ts";
import { toRecording } from "../support/toRecording.ts";
import { checksOf, evaluateFlights, shortFlight, shortManifest, shortSettings } from "./shortCampaign.ts";

const usual: readonly SignalName[] = ["vehicle_pose", "effector_pose", "vehicle_setpoint", "effector_command"];
const estimate: FlightSettings["estimate"] = { rate: 50, positionNoise: 5e-4, attitudeNoise: 1e-3, delay: 0 };

/** A flight whose capture is `offset` seconds ahead, under a manifest that takes all signals to be on one clock. */
async function onOneClock(
  offset: number,
  witness: "vehicle_rate" | "vehicle_estimate" | null,
  change: (recording: Recording) => Recording = (recording) => recording,
): Promise<RunEvaluation> {
  const changes = { clock: { offset, skew: 0, boot: 0n }, estimate };
  const manifest = shortManifest(["a.bag"], {
    flight: shortSettings(changes),
    captureClock: "none",
    signals: [...usual, ...(witness === null ? [] : [witness])],
  });
  return (await evaluateFlights({ "a.bag": change(toRecording(shortFlight(31, changes))) }, manifest)).runs[0]!;
}

/** The estimate's positions alone. */
function withoutAttitude(recording: Recording): Recording {
  const whole = recording.signals.get("vehicle_estimate")!;
  const { x, y, z } = whole.columns as Readonly<Record<string, Float64Array>>;
  const signals = new Map(recording.signals).set("vehicle_estimate", { ...whole, columns: { x: x!, y: y!, z: z! } });
  return { ...recording, signals };
}

describe("a capture on another clock than the one all signals are taken to be on", () => {
  test.each([0.03, -0.03, 0.1, 0.35])("by %f s is reported by the gyro; the figures stay", async (offset) => {
    const run = await onOneClock(offset, "vehicle_rate");
    const [check] = checksOf(run, "clock-apart");
    expect(check).toMatchObject({ severity: "doubt", evidence: { held_by: "assumed" } });
    // what the simulation's clock was set to
    const { apart_s: apart, apart_se_s: error } = check!.evidence as Record<string, number>;
    expect(Math.abs(apart! - offset)).toBeLessThan(5 * error!);
    expect(error).toBeLessThan(1e-3);
    expect(check!.hint).toContain("same_motion: [vehicle_pose, vehicle_rate]");
    // the setpoint rests, at whatever instant it is looked up
    expect(check!.touches).toMatchObject({ subjects: ["effector", "arm"] });
    const silent = await onOneClock(offset, null);
    expect(checksOf(silent, "clock-apart")).toEqual([]);
    // the gyro moves the run's epoch by some ms: equal to rounding
    const rms = (of: RunEvaluation) => of.tracking.cycles!.effector!.norm.rms;
    expect(Math.abs(rms(run) / rms(silent) - 1)).toBeLessThan(1e-9);
  });

  test("is reported by the attitude of an estimate, and by its positions where it has no attitude", async () => {
    for (const change of [undefined, withoutAttitude]) {
      const [check] = checksOf(await onOneClock(0.1, "vehicle_estimate", change), "clock-apart");
      const { apart_s: apart, apart_se_s: error } = check!.evidence as Record<string, number>;
      expect(Math.abs(apart! - 0.1)).toBeLessThan(5 * error!);
      expect(check!.message).toContain("includes any delay of the estimator");
    }
  });

  test("by what a gyro's filter explains is not", async () => {
    for (const offset of [0, 0.005])
      expect(checksOf(await onOneClock(offset, "vehicle_rate"), "clock-apart")).toEqual([]);
  });
});

describe("a declared offset of the capture's clock", () => {
  const sound = shortFlight(11);
  const { clock } = sound.settings;
  const declared = async (offset: number) => {
    const flight = shortSettings({ clock: { ...clock, offset } });
    const run = (await evaluateFlights({ "a.bag": sound }, shortManifest(["a.bag"], { captureClock: "known", flight })))
      .runs[0]!;
    return checksOf(run, "clock-apart");
  };

  // the last is further away than the search about the declared one looks
  test.each([-clock.offset, clock.offset + 0.02, clock.offset + 5])(
    "of %f s is contradicted by the gyro",
    async (wrong) => {
      const [check] = await declared(wrong);
      expect(check).toMatchObject({ severity: "doubt", evidence: { held_by: "declared" } });
      // what the simulation's clock really is, and its drift over the first half of 20 s
      const shown = check!.evidence.from_motion_s as number;
      expect(Math.abs(shown - clock.offset - 10 * clock.skew)).toBeLessThan(0.002);
    },
  );

  test("that is right is not", async () => {
    expect(await declared(clock.offset)).toEqual([]);
  });
});
