import type { Radians } from "../foundation/units.ts";

/** By how much angle `a` is ahead of angle `b`, the short way round: -pi to pi. */
export function angleApart(a: Radians, b: Radians): Radians {
  return Math.atan2(Math.sin(a - b), Math.cos(a - b));
}
