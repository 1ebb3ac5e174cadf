import { subjectsResting } from "../catalogue/checks.ts";
import type { Check } from "../foundation/checks.ts";
import type { Window } from "../foundation/tracks.ts";
import type { CommandTrack } from "./commandTrack.ts";
import { overlapWith } from "./validFraction.ts";

/** What is wrong with a command: stretches in which nothing was commanded, messages without attitude, unfilled setpoints. */
export function commandChecks(
  name: "vehicle_setpoint" | "effector_command",
  track: CommandTrack,
  scored: Window | null,
): Check[] {
  const checks: Check[] = [];
  const touches = { subjects: subjectsResting(name) };
  if (track.breaks.length > 0) {
    const longest = track.breaks.reduce((best, each) => (each[1] - each[0] > best[1] - best[0] ? each : best));
    const inside = scored === null ? 0 : overlapWith(track.breaks, scored);
    checks.push({
      code: "gap",
      severity: inside > 0 ? "doubt" : "note",
      message: `${name}: nothing was commanded in ${track.breaks.length} stretch${track.breaks.length === 1 ? "" : "es"} (no message, or masked), the longest ${(longest[1] - longest[0]).toFixed(2)} s from ${longest[0].toFixed(2)} s; nothing is scored there`,
      evidence: {
        signal: name,
        stretches: track.breaks.length,
        longest_s: longest[1] - longest[0],
        longest_from_s: longest[0],
        in_scored_window_s: inside,
      },
      hint: "look for a stream that paused, or a mode in which position is not commanded",
      touches,
    });
  }
  if (track.attitudesMissing > 0) {
    checks.push({
      code: "bad-quaternion",
      severity: "note",
      message: `${name}: ${track.attitudesMissing} messages carry no attitude (masked, zero or not of unit norm); the one before was kept`,
      evidence: { signal: name, messages: track.attitudesMissing },
      hint: "fill the orientation of every command, or of none",
    });
  }
  if (track.zeroed > 0) {
    checks.push({
      code: "jump",
      severity: "doubt",
      message: `${name}: ${track.zeroed} messages read exactly 0 0 0 among others elsewhere; they were taken for fields never filled, not for commands`,
      evidence: { signal: name, messages: track.zeroed },
      hint: "look at what publishes the setpoint",
      touches,
    });
  }
  return checks;
}
