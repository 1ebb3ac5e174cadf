import type { SignalSource } from "../contract/campaign.ts";
import type { CommandTrack } from "./commandTrack.ts";
import { turnAxes } from "./turnAxes.ts";

/**
 * A command in the campaign's axes. One in the vehicle's or the arm's frame turns as the body does; one without an attitude
 * of its own is level in the logged world and so in the campaign's.
 */
export function turnCommand(track: CommandTrack, source: SignalSource | undefined): CommandTrack {
  const axes = source?.axes ?? null;
  if (axes === null) return track;
  if (source?.frame !== "world")
    return turnAxes(track, { world: axes.body === "frd" ? "frd" : "enu", body: axes.body });
  const upsideDown = axes.world !== "enu";
  return turnAxes(track, track.attitude === "given" ? axes : { ...axes, body: upsideDown ? "frd" : "flu" });
}
