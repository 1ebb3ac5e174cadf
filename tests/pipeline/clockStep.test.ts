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
  test("is doubted, forward and back, with when and by how much", async () => {
    const steps = [0.06, -0.06, 0.02, -0.02];
    const logs = Object.fromEntries(steps.map((by, i) => [`run-${i}.bag`, stepped(by)]));
    const { runs } = await evaluateFlights(logs);
    for (const [i, by] of steps.entries()) {
      expect(checksOf(runs[i]!, "clock-ambiguous")).toEqual([]);
      const [check] = checksOf(runs[i]!, "clock-step");
      expect(check).toMatchObject({
        severity: "doubt",
        message: expect.stringContaining(by > 0 ? "was set forward by" : "was set back by"),
      });
      const { step_s: size, step_se_s: error, at_s: at } = check!.evidence as Record<string, number>;
      // four standard errors, and a tenth for the straight line that a step of 60 ms is found by
      expect(Math.abs(size! - by)).toBeLessThan(4 * error! + 0.1 * Math.abs(by));
      // it is looked for at whole seconds
      expect(Math.abs(at! - 10)).toBeLessThanOrEqual(1.5);
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
    for (const run of runs) expect([...checksOf(run, "clock-ambiguous"), ...checksOf(run, "clock-step")]).toEqual([]);
  });
});
