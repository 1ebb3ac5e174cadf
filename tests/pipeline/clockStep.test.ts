import { describe, expect, test } from "vitest";
import type { RecordedSignal, Recording } from "../../src/foundation/recording.ts";
import { toRecording } from "../support/toRecording.ts";
import { checksOf, evaluateFlights, shortFlight, shortManifest, shortSettings } from "./shortCampaign.ts";

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

describe("a clock that is set again within the flight", () => {
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

  test.each([1, -1])("by %d s it is named from the times of receipt, with its size and place", async (by) => {
    const { runs } = await evaluateFlights({ "far.bag": stepped(by) });
    const said = runs[0]!.checks.find(({ code }) => code === (by > 0 ? "clock-step" : "stamp-backward"));
    expect(said!.message).toContain("1.00 s");
    // receipt jitters by milliseconds
    expect(Math.abs((said!.evidence.step_s as number) - by)).toBeLessThan(0.01);
    if (by > 0) expect(Math.abs((said!.evidence.at_s as number) - 10)).toBeLessThan(0.1);
  });

  test("under one clock that all signals are taken to be on, it is reported as well", async () => {
    const { offset } = shortSettings().clock;
    const oneClock = (log: Recording): Recording => {
      const signals = new Map(log.signals);
      for (const name of ["vehicle_pose", "effector_pose"] as const) {
        const signal = signals.get(name) as RecordedSignal;
        const seconds = signal.stamped!.seconds.map((at) => at - offset);
        signals.set(name, { ...signal, stamped: { ...signal.stamped!, seconds } });
      }
      return { ...log, signals };
    };
    const logs = { "set.bag": oneClock(stepped(0.03)), "steady.bag": oneClock(recording) };
    const { runs } = await evaluateFlights(logs, shortManifest(Object.keys(logs), { captureClock: "none" }));
    expect(checksOf(runs[0]!, "clock-step")).toHaveLength(1);
    expect(checksOf(runs[1]!, "clock-step")).toEqual([]);
  });

  test("one that drifts as quartz does is not", async () => {
    const flights = [1, 2, 3, 4].map((seed) => [`${seed}.bag`, shortFlight(seed)] as const);
    const { runs } = await evaluateFlights(Object.fromEntries(flights));
    for (const run of runs) expect([...checksOf(run, "clock-ambiguous"), ...checksOf(run, "clock-step")]).toEqual([]);
  });
});
