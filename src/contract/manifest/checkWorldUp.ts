import type { Frames } from "../campaign.ts";
import type { Reading } from "./reading.ts";
import { isMapping, type TextMapping } from "./textTree.ts";

/**
 * Which axis of the capture's world points up is said once: by `frames: world` for all that was captured, or by the `axes` of a
 * signal. The axes of a body may stand beside either.
 */
export function checkWorldUp(reading: Reading, root: TextMapping, { worldUp }: Pick<Frames, "worldUp">): void {
  if (worldUp === "z" || !isMapping(root.signals)) return;
  for (const name of ["vehicle_pose", "effector_pose"] as const) {
    const signal = root.signals[name];
    const axes = isMapping(signal) ? signal.axes : null;
    if (!isMapping(axes) || axes.world === undefined || axes.world === null) continue;
    reading.complain(
      ["signals", name, "axes", "world"],
      `found ${JSON.stringify(axes.world)} beside \`frames: world: up: y\`, expected one of them: ${axes.world === "enu" ? "enu has z up" : `${axes.world} has z down`}`,
      "leave `world` out of these axes where the capture has y up, else `up: y` out of frames",
    );
  }
}
