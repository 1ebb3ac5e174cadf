import { describe, expect, test } from "vitest";
import type { RecordedSignal, Recording } from "../../src/foundation/recording.ts";
import { toRecording } from "../support/toRecording.ts";
import { checksOf, evaluateFlights, shortFlight } from "./shortCampaign.ts";

const recording = toRecording(shortFlight(1));

/** The capture's clock set forward by some seconds, ten seconds into the flight. */
function stepped(by: number): Recording {
  const signals = new Map(recording.signals);
  for (const name of ["vehicle_pose", "effector_pose"] as const) {
    const signal = signals.get(name) as RecordedSignal;
    const seconds = signal.stamped!.seconds.map((at, i) => at + (signal.received.seconds[i]! > 10 ? by : 0));
    signals.set(name, { ...signal, stamped: { ...signal.stamped!, seconds } });
  }
  return { ...recording, signals };
}

describe("a clock that is set anew within the flight", () => {
  test("is doubted, forward and back: no clock runs fast or slow by so much", async () => {
    const { runs } = await evaluateFlights({ "forward.bag": stepped(0.06), "back.bag": stepped(-0.06) });
    for (const [i, way] of ["fast", "slow"].entries()) {
      const [check] = checksOf(runs[i]!, "clock-ambiguous");
      expect(check).toMatchObject({ severity: "doubt", message: expect.stringContaining(`seems to run ${way} by`) });
      // least squares through a step in the middle of a record: 1.5 steps over its 20 s, 4500 ppm; where the motion lies, and
      // how much of it, moves that by half
      expect(Math.abs(check!.evidence.skew as number)).toBeGreaterThan(0.5 * 4.5e-3);
      expect(Math.abs(check!.evidence.skew as number)).toBeLessThan(1.5 * 4.5e-3);
    }
  });

  test("by 0.3 s is refused, and the hint names a clock that was set", async () => {
    const { runs } = await evaluateFlights({ "far.bag": stepped(0.3) });
    const [check] = checksOf(runs[0]!, "clock-ambiguous");
    expect(check!.severity).toBe("unusable");
    expect(check!.hint).toContain("a clock that was set within the run");
  });

  test("one that drifts as quartz does is not", async () => {
    const flights = [1, 2, 3, 4].map((seed) => [`${seed}.bag`, shortFlight(seed)] as const);
    const { runs } = await evaluateFlights(Object.fromEntries(flights));
    for (const run of runs) expect(checksOf(run, "clock-ambiguous")).toEqual([]);
  });
});
