import { expect, test } from "vitest";
import type { RecordedSignal, Recording } from "../../src/foundation/recording.ts";
import { toRecording } from "../support/toRecording.ts";
import { checksOf, evaluateFlights, shortFlight, shortManifest, shortSettings } from "./shortCampaign.ts";

const timeline = { hold: 16, pause: 1, rest: 2, takeOff: false };
const recorded = toRecording(shortFlight(51, { timeline }));

/** A flight with the tool's stamps late by some seconds. */
function withLateTool(log: Recording, by: number): Recording {
  const tool = log.signals.get("effector_pose") as RecordedSignal;
  const stamped = { ...tool.stamped!, seconds: tool.stamped!.seconds.map((t) => t + by) };
  return { ...log, signals: new Map(log.signals).set("effector_pose", { ...tool, stamped }) };
}

async function late(by: number) {
  const manifest = shortManifest(["a.bag"], { flight: shortSettings({ timeline }) });
  const [run] = (await evaluateFlights({ "a.bag": withLateTool(recorded, by) }, manifest)).runs;
  return checksOf(run!, "bodies-apart");
}

test.each([0.02, -0.02])("a tool stamped %f s after the vehicle is reported, with the lag", async (by) => {
  const [check] = await late(by);
  expect(check).toMatchObject({ severity: "doubt", touches: { subjects: ["effector", "arm"] } });
  const { apart_s: apart, apart_se_s: error } = check!.evidence as Record<string, number>;
  // what was added to its stamps
  expect(Math.abs(apart! - by)).toBeLessThan(4 * error!);
  expect(error).toBeLessThan(0.003);
});

test("one stamped with it, or by a frame of a fast capture later, is not", async () => {
  for (const by of [0, 0.002]) expect(await late(by)).toEqual([]);
});

test("holds of some seconds show a lag of 12 ms in the runs of a configuration together, and none where there is none", async () => {
  const configurations = ["bare", "weighted", "weighted", "bare", "bare", "weighted"];
  const logs: Record<string, Recording> = {};
  const runs = configurations.map((configuration, i) => {
    const log = `${i + 1}.bag`;
    const flight = toRecording(shortFlight(510 + i));
    logs[log] = configuration === "weighted" ? withLateTool(flight, 0.012) : flight;
    return { log, id: `${i + 1}`, configuration, trajectory: "orbit", block: "day" };
  });
  const evaluation = await evaluateFlights(logs, shortManifest(runs));
  for (const run of evaluation.runs) {
    const found = checksOf(run, "bodies-apart");
    expect(found).toHaveLength(run.configuration === "weighted" ? 1 : 0);
    for (const { evidence } of found) {
      // of these hovers single lags scatter by 1 ms, and the mean of three by 0.6 ms: three of it
      expect(Math.abs((evidence.apart_s as number) - 0.012)).toBeLessThan(0.002);
    }
  }
});
