import type { Trajectory } from "../../contract/campaign.ts";
import type { Window } from "../../foundation/tracks.ts";
import { extent } from "../../numeric/extent.ts";
import { type CommandTrack, messagesOf } from "../commandTrack.ts";
import { findCycles } from "../cycles/findCycles.ts";
import { findHoldWindow } from "../holdWindow.ts";
import { noCommand, withoutCommand } from "../refusals.ts";
import type { Step } from "./Alignment.ts";
import type { Commanded, Setpointed } from "./placeCommands.ts";
import type { Given, Posed } from "./placeOnClock.ts";

export interface Windowed {
  readonly trajectory: Trajectory;
  /** the command that shows the cycles */
  readonly cyclesOf: CommandTrack;
  readonly cycles: readonly Window[];
  /** seconds; null where the trajectory has no cycles of equal length */
  readonly period: number | null;
  readonly hold: Window | null;
  /** what the verdict is about: all cycles, or the hold of a `hold` trajectory */
  readonly scored: Window | null;
}

/** The stretches in which the commands move as declared, and in which they rest. Never from the error. */
export const findWindows: Step<Given & Posed & Setpointed & Commanded, Windowed> = (record) => {
  const { campaign, run, settings, recorded, setpointOnboard, setpoint, commandRaw, command } = record;
  const trajectory = campaign.trajectories[run.trajectory]!;
  const moving = commandRaw !== null && isMoving(commandRaw) ? commandRaw : setpointOnboard;
  const cyclesOf = trajectory.shape === "hold" && commandRaw !== null ? commandRaw : moving;
  const commandLost = campaign.signals.effector_command !== undefined && commandRaw === null;
  // a logged trajectory is whatever moves: without the arm's command the vehicle's landing would pass for it
  const lost = commandLost && trajectory.shape === "logged";
  const { windows, period, checks } = lost
    ? { windows: [], period: trajectory.period, checks: [noCommand()] }
    : findCycles(messagesOf(cyclesOf), trajectory, recorded, settings);
  const hold = findHoldWindow(command === null ? [setpoint] : [setpoint, command], recorded, settings);
  const all: Window | null = windows.length > 0 ? [windows[0]![0], windows.at(-1)![1]] : null;
  return {
    adds: { trajectory, cyclesOf, cycles: windows, period, hold, scored: trajectory.shape === "hold" ? hold : all },
    checks: commandLost ? checks.map(withoutCommand) : checks,
  };
};

function isMoving(command: CommandTrack): boolean {
  return [command.x, command.y, command.z].some((column) => {
    const { low, high } = extent(column);
    return high - low > 1e-3;
  });
}
