import type { Settings } from "../contract/settings.ts";
import type { PoseTrack, Window } from "../foundation/tracks.ts";
import type { Radians } from "../foundation/units.ts";
import { angleApart } from "../numeric/angleApart.ts";
import type { CommandTrack } from "./commandTrack.ts";
import { meanYaw } from "./meanYaw.ts";

/** The way the vehicle faces in a run: one angle from the world's x towards y, however it moves. */
export interface Heading {
  readonly yaw: Radians;
  /** the setpoint's mean yaw in the scored window, or the measured one of the hold */
  readonly source: "setpoint" | "measured";
}

/**
 * The heading of a run: the mean yaw that was commanded in the scored window. The measured one of the hold (else of the scored
 * window) where none was commanded, or where the vehicle flies by more than `assumed_yaw` beside it: counterweights sit on the
 * vehicle, not on its setpoint, and that the two disagree is a check of its own.
 *
 * @param vehicle  measured attitude; null where it was not measured
 * @returns null where neither is known, or the yaw goes round
 */
export function headingOf(
  setpoint: CommandTrack,
  vehicle: PoseTrack | null,
  { scored, hold }: { readonly scored: Window | null; readonly hold: Window | null },
  settings: Settings,
): Heading | null {
  const commanded = setpoint.attitude === "level" ? null : meanYaw(setpoint, scored ?? hold);
  const measured = vehicle === null ? null : meanYaw(vehicle, hold ?? scored);
  const follows = (asked: Radians): boolean =>
    measured === null || Math.abs(angleApart(measured, asked)) < settings.assumed_yaw;
  if (commanded !== null && follows(commanded)) return { yaw: commanded, source: "setpoint" };
  return measured === null ? null : { yaw: measured, source: "measured" };
}
