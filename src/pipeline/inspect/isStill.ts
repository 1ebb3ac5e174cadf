import { defaultSettings } from "../../contract/settings.ts";
import { extent } from "../../numeric/extent.ts";
import type { Roles } from "./findRoles.ts";
import type { Stream } from "./streams.ts";

/**
 * Whether a log is that of a static capture: every body in it stays within a few millimetres on every axis, and nothing is
 * commanded, for what was commanded was flown. An autopilot's log is that of a flight.
 */
export function isStill(format: string, roles: Roles, streams: readonly Stream[]): boolean {
  if (format === "ULog" || format === "C3D") return false;
  if (roles.has("vehicle_setpoint") || roles.has("effector_command")) return false;
  const bodies = streams.flatMap(({ point }) => (point === null ? [] : [point]));
  if (bodies.length === 0) return false;
  return bodies.every(({ x, y, z }) => {
    const ranges = [x, y, z].map((column) => extent(column));
    // what was never seen stands in one place to the last digit
    return (
      ranges.every(({ low, high }) => high - low < defaultSettings.static_spread) &&
      ranges.some(({ low, high }) => high > low)
    );
  });
}
