import { expect, test } from "vitest";
import type { RecordedSignal } from "../../src/foundation/recording.ts";
import { toRecording } from "../support/toRecording.ts";
import { checksOf, evaluateFlights, shortFlight, shortManifest, shortSettings } from "./shortCampaign.ts";

const timeline = { hold: 16, pause: 1, rest: 2, takeOff: false };
const recorded = toRecording(shortFlight(51, { timeline }));

/** The flight with the tool's stamps late by some seconds. */
async function late(by: number) {
  const tool = recorded.signals.get("effector_pose") as RecordedSignal;
  const stamped = { ...tool.stamped!, seconds: tool.stamped!.seconds.map((t) => t + by) };
  const signals = new Map(recorded.signals).set("effector_pose", { ...tool, stamped });
  const manifest = shortManifest(["a.bag"], { flight: shortSettings({ timeline }) });
  const [run] = (await evaluateFlights({ "a.bag": { ...recorded, signals } }, manifest)).runs;
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
