import type { Settings } from "../../contract/settings.ts";
import type { Check } from "../../foundation/checks.ts";
import type { PoseTrack, Window } from "../../foundation/tracks.ts";
import { extent } from "../../numeric/extent.ts";
import { lowerBound } from "../../numeric/lowerBound.ts";
import { plainSum } from "../../numeric/plainSum.ts";

/** How long a vehicle stands before it takes off, at least, seconds. */
const standing = 1;

/**
 * Whether the vehicle flies above the place where it stood. Only where the record begins or ends on the ground: there
 * nothing moves by more than the capture's noise, while a hover moves by millimetres.
 *
 * @param vehicle  campaign's axes, z up
 * @param flight   the scored stretch, or the hold
 */
export function takeOffCheck(vehicle: PoseTrack, flight: Window | null, settings: Settings): Check[] {
  const { t, z } = vehicle;
  if (flight === null || t.length < 100) return [];
  const ground = groundHeight(vehicle, settings);
  const a = lowerBound(t, flight[0]);
  const b = lowerBound(t, flight[1]);
  if (ground === null || b - a < 10) return [];
  const height = plainSum(z, a, b) / (b - a);
  if (height > ground - settings.takeoff_drop) return [];
  return [
    {
      code: "frame-suspect",
      severity: "doubt",
      message: `the vehicle stands at a height of ${ground.toFixed(2)} m and flies at ${height.toFixed(2)} m, below it: z seems to point down`,
      evidence: { standing_m: ground, flying_m: height },
      hint: "if the log's world has z down, say `axes: { world: ned }` (or frd) on this signal and on those that share its world; a world with y up is `frames: world: up: y`",
      touches: { part: "all" },
    },
  ];
}

/** Mean height of a stretch at the record's start, else at its end, in which the vehicle stands still; null where it never does. */
function groundHeight({ t, x, y, z }: PoseTrack, settings: Settings): number | null {
  const n = t.length;
  const ends: readonly Window[] = [
    [t[0]!, t[0]! + standing],
    [t[n - 1]! - standing, t[n - 1]!],
  ];
  for (const [from, to] of ends) {
    const a = lowerBound(t, from);
    const b = lowerBound(t, to);
    if (b - a < 20) continue;
    const still = [x, y, z].every((column) => {
      const { low, high } = extent(column.subarray(a, b));
      return high - low < settings.standing_still;
    });
    if (still) return plainSum(z, a, b) / (b - a);
  }
  return null;
}
