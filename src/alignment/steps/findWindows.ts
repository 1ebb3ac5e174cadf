import type { Trajectory } from "../../contract/campaign.ts";
import type { Check } from "../../foundation/checks.ts";
import type { PointTrack, Window } from "../../foundation/tracks.ts";
import { extent } from "../../numeric/descriptive.ts";
import { lowerBound } from "../../numeric/sortedColumns.ts";
import { type CommandTrack, messagesOf } from "../commandTrack.ts";
import { type Cycles, findCycles } from "../cycles/findCycles.ts";
import { findHoldWindow } from "../holdWindow.ts";
import { type LoggedFlight, loggedFlight } from "../logged/loggedFlight.ts";
import { noCommand, noFlight, withoutCommand } from "../refusals.ts";
import type { Step } from "./Alignment.ts";
import type { Tracked } from "./placeBodies.ts";
import type { Commanded, Setpointed } from "./placeCommands.ts";
import type { Given, Posed } from "./placeOnClock.ts";

/** A setpoint that goes less far than this along an axis goes nowhere, metres. */
const least = 0.05;
/** A way out and back is twice its reach; one that goes on is longer, and a path. */
const outAndBack = 2.2;

/**
 * Of a logged trajectory, an arm command that rests throughout: the vehicle's setpoint then passes for the trajectory. That is meant
 * where the vehicle goes to and fro with the arm held still; a climb and a landing alone are no trajectory, and a way to a place and
 * back is doubted.
 *
 * @param setpoint  of the vehicle, world with z up, metres
 * @param within    stretch in which poses were recorded, seconds
 */
function restingArm(setpoint: PointTrack, within: Window): Check[] {
  const [from, to] = [lowerBound(setpoint.t, within[0]), lowerBound(setpoint.t, within[1])];
  const [x, y, z] = [setpoint.x, setpoint.y, setpoint.z].map((column) => wayOf(column.subarray(from, to)));
  const goes = [x!, y!, z!].filter(({ reach }) => reach > least);
  // one that rests as well is said to never move
  if (goes.length === 0 || goes.some(({ reach, length }) => length > outAndBack * reach)) return [];
  const isAside = Math.max(x!.reach, y!.reach) > least;
  return [
    {
      code: "wrong-trajectory",
      severity: isAside ? "doubt" : "unusable",
      message: isAside
        ? "the effector's command never moves: what is scored is the one way that the vehicle's setpoint goes"
        : "the effector's command never moves, and the vehicle's setpoint only climbs or descends: there is no trajectory to score",
      evidence: { along_x_m: x!.reach, along_y_m: y!.reach, along_z_m: z!.reach },
      hint: "check the topic of the effector's command, and which trajectory this run flew; a flight at rest is `shape: hold`",
    },
  ];
}

/** How far a column goes from end to end, and the length of its way; instants at which nothing is commanded are left out. */
function wayOf(column: Float64Array): { reach: number; length: number } {
  const known = column.filter(Number.isFinite);
  if (known.length === 0) return { reach: 0, length: 0 };
  const { low, high } = extent(known);
  let length = 0;
  for (let i = 1; i < known.length; i++) length += Math.abs(known[i]! - known[i - 1]!);
  return { reach: high - low, length };
}

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
  /** of a logged trajectory without a period that moves; else null */
  readonly flight: LoggedFlight | null;
}

/** The stretches in which the commands move as declared, and in which they rest. Never from the error. */
export const findWindows: Step<Given & Posed & Setpointed & Commanded & Tracked, Windowed> = (record) => {
  const { campaign, run, settings, recorded, setpointOnboard, setpoint, commandRaw, command, phase } = record;
  const trajectory = campaign.trajectories[run.trajectory]!;
  const arm = commandRaw ?? phase;
  const moving = arm !== null && isMoving(arm) ? arm : setpointOnboard;
  const cyclesOf = trajectory.shape === "hold" && commandRaw !== null ? commandRaw : moving;
  const { effector_command: ofPath, arm_phase: ofPhase } = campaign.signals;
  const isAsked = ofPath !== undefined || (ofPhase !== undefined && trajectory.shape !== "hold");
  const commandLost = isAsked && arm === null;
  // a logged trajectory is whatever moves: without the arm's command the vehicle's landing would pass for it
  const lost = commandLost && trajectory.shape === "logged";
  const resting = trajectory.shape === "logged" && arm !== null && moving !== arm ? restingArm(setpoint, recorded) : [];
  const found = lost
    ? { windows: [], period: trajectory.period, checks: [noCommand()] }
    : withChecks(
        resting,
        findCycles({ ...messagesOf(cyclesOf), phaseOnly: cyclesOf === phase }, trajectory, recorded, settings),
      );
  const { windows, flight, checks } = inFlight(found, cyclesOf, record);
  const hold = findHoldWindow([setpoint, ...[command ?? phase].filter((one) => one !== null)], recorded, settings);
  const all: Window | null = windows.length > 0 ? [windows[0]![0], windows.at(-1)![1]] : null;
  return {
    adds: {
      trajectory,
      cyclesOf,
      cycles: windows,
      period: found.period,
      hold,
      scored: trajectory.shape === "hold" ? hold : all,
      flight,
    },
    checks: commandLost ? checks.map(withoutCommand) : checks,
  };
};

/** The cycles with more to say of them; none where that makes them unusable. */
function withChecks(more: readonly Check[], cycles: Cycles): Cycles {
  return more.some(({ severity }) => severity === "unusable")
    ? { ...cycles, windows: [], checks: more }
    : { ...cycles, checks: [...more, ...cycles.checks] };
}

/**
 * Of a logged trajectory without a period, the part of the command's moving stretch that is scored: what was decided over all its
 * runs, or what this run alone allows where that is not known yet. All others stay as they are.
 */
function inFlight(
  { windows, period, checks }: Cycles,
  cyclesOf: CommandTrack,
  { run, stretch, recorded, setpoint, subjects, settings }: Given & Posed & Setpointed & Tracked,
): Pick<Cycles, "windows" | "checks"> & Pick<Windowed, "flight"> {
  const moving = windows[0];
  if (period !== null || moving === undefined) return { windows, flight: null, checks };
  const flight = loggedFlight(cyclesOf, moving, subjects.vehicle!, setpoint, recorded, run.span !== null, settings);
  const window = stretch === null ? flight.own : stretch.window;
  return {
    windows: window === null ? [] : [window],
    flight,
    checks: [...checks, ...(stretch?.checks ?? []), ...(window === null ? [noFlight(flight)] : [])],
  };
}

function isMoving(command: CommandTrack): boolean {
  return [command.x, command.y, command.z].some((column) => {
    const { low, high } = extent(column);
    return high - low > 1e-3;
  });
}
