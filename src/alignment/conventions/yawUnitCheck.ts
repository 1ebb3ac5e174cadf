import type { Check } from "../../foundation/checks.ts";
import type { RecordedSignal } from "../../foundation/recording.ts";
import { extent } from "../../numeric/extent.ts";

/** No one commands more than a few turns; degrees taken for radians are dozens of them. */
const mostTurns = 4;

/** Whether a commanded yaw can be in radians. */
export function yawUnitCheck(signal: RecordedSignal | undefined): Check[] {
  const yaw = signal?.columns.yaw;
  if (signal === undefined || yaw === undefined) return [];
  const { low, high } = extent(yaw);
  const largest = Math.max(Math.abs(low), Math.abs(high));
  if (!(largest > mostTurns * 2 * Math.PI) || !Number.isFinite(largest)) return [];
  return [
    {
      code: "frame-suspect",
      // the arm's command is not laid out from a yaw of its own
      severity: signal.signal === "vehicle_setpoint" ? "unusable" : "note",
      message: `the yaw of ${signal.signal} goes up to ${largest.toFixed(1)} rad: 57.3 times too large, degrees taken for radians?`,
      evidence: { topic: signal.topic, lowest_rad: low, highest_rad: high },
      hint: "say `units: { angle: deg }` on this signal",
      touches: { subjects: ["effector"], part: "all" },
    },
  ];
}
