import type { RunGrounds } from "../contract/runGrounds.ts";
import type { Check } from "../foundation/checks.ts";
import type { Window } from "../foundation/tracks.ts";
import type { CommandTrack } from "./commandTrack.ts";
import type { LoggedFlight } from "./logged/loggedFlight.ts";
import type { PreparedSignal } from "./timedSignals.ts";

/*
 * What is said of a run that cannot be scored, or only in part.
 */

export function nothingToScore(pose: PreparedSignal | undefined, setpoint: PreparedSignal | undefined): Check {
  const poses = pose?.poses?.t.length ?? 0;
  const setpoints = setpoint?.timeline.t.length ?? 0;
  return {
    code: "missing-signal",
    severity: "unusable",
    message: `nothing to score: ${poses} valid poses of the vehicle, ${setpoints} setpoints`,
    evidence: { vehicle_poses: poses, setpoints },
    hint: "look at the topics of this log with `counterpoise inspect`",
  };
}

/** Without its effector command a run is not of the wrong trajectory: what it flew is not known. */
export function withoutCommand(check: Check): Check {
  return check.code === "wrong-trajectory" ? noCommand(check.evidence) : check;
}

/** The effector command that would show the cycles is not in the log. */
export function noCommand(evidence: Check["evidence"] = {}): Check {
  return {
    code: "few-cycles",
    severity: "unusable",
    message: "no cycles: the effector command (or arm_phase) that shows them is not in the log",
    evidence,
    hint: "record the effector command, or declare `arm_phase` (any column that moves with the arm): cycles are found from these alone. Where only the vehicle moves, take both out of `signals`",
  };
}

/** Of a logged trajectory: nothing of the command's motion lies between arrival and landing. */
export function noFlight({ takeOff, arrival, landing, moving }: LoggedFlight): Check {
  const at = (seconds: number | null): string =>
    seconds === null ? "not in the recording" : `${seconds.toFixed(1)} s`;
  return {
    code: "few-cycles",
    severity: "unusable",
    message: `nothing to score: the command moves from ${moving[0].toFixed(1)} to ${moving[1].toFixed(1)} s, arrival at the setpoint ${at(arrival)}, landing ${at(landing)}`,
    evidence: { takeoff_s: takeOff, arrival_s: arrival, landing_s: landing, moving_s: [moving[0], moving[1]] },
    hint: "check which trajectory this run flew; or name the stretch with `span: [3 s, 31 s]` on the run",
  };
}

export function noPositions(messages: number): Check {
  return {
    code: "missing-signal",
    severity: "doubt",
    message: `none of the ${messages} commands of the effector holds a position: all are masked or not finite; effector and arm are not scored`,
    evidence: { signal: "effector_command", messages },
    hint: "name the topic that carries the position command of the arm",
  };
}

export function noSetpoint(messages: number): Check {
  return {
    code: "missing-signal",
    severity: "unusable",
    message: `none of the ${messages} setpoints commands a position: all are masked, not finite, or in another frame than the world's`,
    evidence: { signal: "vehicle_setpoint", messages },
    hint: "name the topic that carries the position command; a velocity or body-frame command cannot be scored",
  };
}

export function apart(
  recorded: Window,
  track: CommandTrack,
  what: "setpoints" | "commands of the effector",
  campaign: RunGrounds,
): Check {
  const one = campaign.clocks.reference === null;
  const [from, to] = [track.t[0] ?? Number.NaN, track.t[track.t.length - 1] ?? Number.NaN];
  return {
    code: "stamp-epoch",
    severity: "unusable",
    message: `poses and ${what} have no instant in common: poses from ${recorded[0].toFixed(1)} to ${recorded[1].toFixed(1)} s, ${what} from ${from.toFixed(1)} to ${to.toFixed(1)} s after the run's epoch`,
    evidence: {
      poses_from_s: recorded[0],
      poses_to_s: recorded[1],
      [what === "setpoints" ? "setpoints_from_s" : "commands_from_s"]: Number.isNaN(from) ? null : from,
    },
    hint: one
      ? "they are stamped by two clocks: declare `clocks`, or use `stamp: log` for both"
      : "the declared offset of the clock does not bring them together: check its sign and the stamps' epochs",
  };
}

export function tooLittle(
  name: string,
  valid: number,
  scored: Window,
  setpoint: CommandTrack,
  command: CommandTrack | null,
): Check {
  const breaks = [...setpoint.breaks, ...(command?.breaks ?? [])];
  return {
    code: "gap",
    severity: "unusable",
    message: `${name}: only ${(100 * valid).toFixed(1)} % of the scored window holds samples that were measured and commanded`,
    evidence: { signal: name, valid_fraction: valid, window_s: [scored[0], scored[1]], command_breaks: breaks.length },
    hint: "look for gaps in the command as well as in the capture",
  };
}
