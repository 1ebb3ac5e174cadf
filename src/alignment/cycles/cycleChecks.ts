import type { Trajectory } from "../../contract/campaign.ts";
import type { Settings } from "../../contract/settings.ts";
import type { Check } from "../../foundation/checks.ts";
import type { Window } from "../../foundation/tracks.ts";
import { movingStretches } from "./movingStretch.ts";
import type { CommandSamples } from "./waveform.ts";

/** A recording that begins within the cycles: where phase 0 belongs is not in it. */
export function phaseUnknown(from: number): Check {
  return {
    code: "few-cycles",
    severity: "doubt",
    message:
      "the command moves from its first message on: where its cycle begins is not in the log, and phase 0 was put there",
    evidence: { first_message_s: from },
    hint: "start the recording before the cycles; phases of this run's synchronous error cannot be compared with those of others",
    // phases alone: no measure of a cell knows them
    touches: { part: "nothing" },
  };
}

/** A command declared to rest that moves. */
export function checkResting(samples: CommandSamples, duration: number, within: Window): Check[] {
  const stretches = movingStretches(samples, 0.3);
  const moving = stretches.reduce((sum, stretch) => sum + samples.t[stretch.to]! - samples.t[stretch.from]!, 0);
  const recorded = within[1] - within[0];
  if (moving > 0.2 * Math.min(duration, recorded)) {
    return [
      {
        code: "wrong-trajectory",
        severity: "unusable",
        message: `declared as hold, but the command moves for ${moving.toFixed(1)} s`,
        evidence: { declared: "hold", moving_s: moving, declared_duration_s: duration },
        hint: "check the trajectory of this run in the manifest",
      },
    ];
  }
  return [];
}

export interface CycleCount {
  /** full cycles commanded, cycles of the ramp before them, full cycles inside the recording */
  readonly commanded: number;
  readonly ramp: number;
  readonly recorded: number;
  /** whether the recording, not the command, ended the cycles */
  readonly cutShort: boolean;
}

/** Compares the cycles found with those declared, and says where the recording holds too few. */
export function checkCount(declared: Trajectory, count: CycleCount, settings: Settings): Check[] {
  const { commanded, ramp, recorded, cutShort } = count;
  const declaredCycles = declared.shape === "circle" || declared.shape === "line" ? declared.cycles : null;
  const tolerance = settings.trajectory_tolerance * (declaredCycles ?? 0);
  const matches = (cycles: number): boolean =>
    declaredCycles !== null && Math.abs(cycles - declaredCycles) <= tolerance;
  // whoever declares the cycles may or may not count those in which the motion grows
  const wanted =
    declaredCycles !== null && !matches(commanded) && matches(commanded + ramp) ? commanded : declaredCycles;
  if (wanted !== null && !cutShort && Math.abs(commanded - wanted) > settings.trajectory_tolerance * wanted) {
    return [
      {
        code: "wrong-trajectory",
        severity: "unusable",
        message: `${declaredCycles} cycles declared, ${commanded} commanded${ramp > 0 ? ` after ${ramp} in which the motion grows` : ""}`,
        evidence: { declared_cycles: declaredCycles, found_cycles: commanded, growing_cycles: ramp },
        hint: "check `cycles` of the trajectory, or which trajectory this run flew",
      },
    ];
  }
  const short = wanted !== null && recorded < wanted - Math.max(1, settings.trajectory_tolerance * wanted) + 1e-9;
  if (recorded > 0 && recorded >= Math.min(settings.cycles_advised, wanted ?? settings.cycles_advised) && !short)
    return [];
  return [
    {
      code: "few-cycles",
      severity: recorded === 0 ? "unusable" : "doubt",
      message: `${recorded} whole cycles recorded${declaredCycles === null ? "" : ` of ${declaredCycles} declared`}`,
      evidence: { declared_cycles: declaredCycles, commanded_cycles: commanded, recorded_cycles: recorded },
      hint: "the recording ends early, or a span cuts it; maximum and range of the trajectory are taken over the smallest number of cycles",
    },
  ];
}
