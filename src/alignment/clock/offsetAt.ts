import type { Window } from "../../foundation/tracks.ts";

import type { MotionSight } from "./motionSight.ts";
import type { RefinedOffset } from "./refineOffset.ts";

/** What two sights have in common at an offset of the first, seconds on the clock of the second. */
export function commonWindow(that: MotionSight, reference: MotionSight, offset: number): Window {
  return [Math.max(that.t[0]! - offset, reference.t[0]!), Math.min(that.t.at(-1)! - offset, reference.t.at(-1)!)];
}

/** Standard error of an offset `t` seconds after the instant that its covariance refers to, seconds. */
export function standardErrorAt([v00, v01, v11]: RefinedOffset["covariance"], t: number): number {
  return Math.sqrt(Math.max(0, v00 + 2 * t * v01 + t * t * v11));
}
