import { describe, expect, test } from "vitest";
import { checksOf, evaluateFlights, shortFlight, shortManifest, shortSettings } from "./shortCampaign.ts";

const sound = shortFlight(61);
const { clock, trajectory } = sound.settings;
const period = trajectory.shape === "circle" ? (2 * Math.PI * trajectory.radius) / trajectory.speed : 0;

/** What is said where the capture's offset is declared `wrong` seconds too large, and the log holds no gyro. */
async function declared(wrong: number) {
  const flight = shortSettings({ clock: { ...clock, offset: clock.offset + wrong } });
  const manifest = shortManifest(["a.bag"], {
    captureClock: "known",
    flight,
    signals: ["vehicle_pose", "effector_pose", "vehicle_setpoint", "effector_command"],
  });
  const [run] = (await evaluateFlights({ "a.bag": sound }, manifest)).runs;
  return { checks: checksOf(run!, "clock-apart"), delay: run!.tracking.cycles!.arm!.delay };
}

describe("a declared offset that is out by a cycle, with no gyro to say so", () => {
  test.each([1, -1])("is contradicted by the arm's start and stop (%i cycle)", async (cycles) => {
    const [check] = (await declared(cycles * period)).checks;
    expect(check).toMatchObject({ severity: "doubt" });
    // instants of the capture come out earlier by what the offset is too large; the arm's own delay, some 65 ms, is in it
    expect(Math.abs((check!.evidence.lag_s as number) + cycles * period - 0.065)).toBeLessThan(0.01);
  });

  test("so is one that lets the arm move before its command; the right one is not, nor one a servo could have", async () => {
    expect((await declared(0.15)).checks).toHaveLength(1);
    expect((await declared(0)).checks).toEqual([]);
    expect((await declared(-0.3)).checks).toEqual([]);
  });
});
