import type { PoseTrack, Window } from "../foundation/tracks.ts";
import type { Radians } from "../foundation/units.ts";
import { lowerBound } from "../numeric/lowerBound.ts";

/**
 * Circular mean of the yaw in a window, with the value before it, radians from the world's x towards y.
 *
 * @param window  null: the whole track
 * @returns null where the yaw goes round (mean resultant below 0.9) or is not known
 */
export function meanYaw(
  { t, qx, qy, qz, qw }: Pick<PoseTrack, "t" | "qx" | "qy" | "qz" | "qw">,
  window: Window | null,
): Radians | null {
  const from = window === null ? 0 : Math.max(0, lowerBound(t, window[0]) - 1);
  const to = window === null ? t.length : lowerBound(t, window[1]);
  let sine = 0;
  let cosine = 0;
  let n = 0;
  for (let i = from; i < to; i++) {
    const yaw = Math.atan2(2 * (qw[i]! * qz[i]! + qx[i]! * qy[i]!), 1 - 2 * (qy[i]! * qy[i]! + qz[i]! * qz[i]!));
    if (Number.isNaN(yaw)) continue;
    sine += Math.sin(yaw);
    cosine += Math.cos(yaw);
    n++;
  }
  return n > 0 && Math.hypot(sine, cosine) > 0.9 * n ? Math.atan2(sine, cosine) : null;
}
