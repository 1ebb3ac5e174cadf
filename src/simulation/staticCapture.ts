import type { RecordedSignal } from "../foundation/recording.ts";
import type { Seconds } from "../foundation/units.ts";
import { quaternionOfAngles } from "./attitude.ts";
import { capturePoses } from "./capture.ts";
import { samplingTimes } from "./clocks.ts";
import { recordDraft } from "./draft.ts";
import type { FlightSettings } from "./flightShape.ts";
import type { Instant } from "./motion.ts";
import { effectorMarkers, vehicleMarkers } from "./placement.ts";
import { randomStream } from "./randomStream.ts";

/** Both bodies standing on the ground with rotors stopped, seen by the motion capture alone. */
export function simulateStaticCapture(
  settings: FlightSettings,
  duration: Seconds,
  seed: number,
): { readonly settings: FlightSettings; readonly seed: number; readonly signals: readonly RecordedSignal[] } {
  const times = samplingTimes(settings.capture.rate, duration, randomStream(seed, "sampling capture"));
  const standing: Instant = {
    position: [settings.setpoint[0], settings.setpoint[1], 0.31],
    attitude: quaternionOfAngles(0.004, -0.006, 0.01),
    tool: settings.arm.rest,
    rate: [0, 0, 0],
  };
  const still = (signal: "vehicle_pose" | "effector_pose"): RecordedSignal => {
    const pose = signal === "vehicle_pose" ? vehicleMarkers(settings, standing) : effectorMarkers(settings, standing);
    const poses = Array.from(times, () => pose);
    return recordDraft(capturePoses(settings, seed, signal, times, poses), settings.start);
  };
  return { settings, seed, signals: [still("vehicle_pose"), still("effector_pose")] };
}
