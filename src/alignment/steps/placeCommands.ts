import type { SignalSource } from "../../contract/campaign.ts";
import type { SignalName, Window } from "../../foundation/tracks.ts";
import { armPhase } from "../armPhase.ts";
import { buildCommandTrack, type CommandTrack } from "../commandTrack.ts";
import { shapedCommand } from "../cycles/shapedCommand.ts";
import { transformPoses } from "../frames.ts";
import { turnAxes } from "../heading.ts";
import { apart, noPositions, noSetpoint } from "../refusals.ts";
import { onboardOf } from "../timedSignals.ts";
import type { Step } from "./Alignment.ts";
import type { Clocked, Given, Posed, Taken } from "./placeOnClock.ts";

export interface Setpointed {
  /** in the onboard world, in which cycles are looked for */
  readonly setpointOnboard: CommandTrack;
  /** in the capture's world */
  readonly setpoint: CommandTrack;
}

/** What the vehicle was commanded; nothing where that is no position, or shares no instant with the poses. */
export const placeSetpoint: Step<Given & Taken & Clocked & Posed, Setpointed> = (record) => {
  const { campaign, run, recorded, setpointSignal } = record;
  const setpointOnboard = commandOf(record, "vehicle_setpoint")!;
  const setpoint = transformPoses(drawn(record, "vehicle_setpoint", setpointOnboard), onboardOf(campaign, run));
  if (!setpoint.x.some(Number.isFinite)) {
    return { adds: null, checks: [noSetpoint(setpointSignal.timeline.t.length)] };
  }
  if (!meets(setpoint, recorded)) return { adds: null, checks: [apart(recorded, setpoint, "setpoints", campaign)] };
  return { adds: { setpointOnboard, setpoint }, checks: [] };
};

export interface Commanded {
  readonly frame: SignalSource["frame"];
  /** the effector command as logged, in its own frame; null where there is none */
  readonly commandRaw: CommandTrack | null;
  /** what was commanded, between the messages too; in the capture's world where it is a command in the world */
  readonly command: CommandTrack | null;
  /** what moves with the arm, where its command in metres is not there; null where there is none, or the arm is declared to rest */
  readonly phase: CommandTrack | null;
}

/** What the effector was commanded; where that is not known in metres, what moves with it. */
export const placeCommand: Step<Given & Clocked & Posed, Commanded> = (record) => {
  const { campaign, run, prepared, recorded } = record;
  const frame = campaign.signals.effector_command?.frame ?? "world";
  const logged = commandOf(record, "effector_command");
  if (logged === null || !logged.x.some(Number.isFinite)) {
    const messages = prepared.get("effector_command")?.timeline.t.length ?? 0;
    const adds = { frame, commandRaw: null, command: null, phase: phaseOf(record) };
    return { adds, checks: logged === null ? [] : [noPositions(messages)] };
  }
  const shown = drawn(record, "effector_command", logged);
  const command = frame === "world" ? transformPoses(shown, onboardOf(campaign, run)) : shown;
  const checks = meets(command, recorded) ? [] : [apart(recorded, command, "commands of the effector", campaign)];
  return { adds: { frame, commandRaw: logged, command, phase: null }, checks };
};

/** While the arm rests, noise is all that such a column shows: a declared hold is taken at its word. */
function phaseOf({ campaign, run, prepared, onRun, settings }: Given & Clocked): CommandTrack | null {
  const signal = prepared.get("arm_phase");
  const trajectory = campaign.trajectories[run.trajectory]!;
  if (!signal || signal.timeline.t.length === 0 || trajectory.shape === "hold") return null;
  const { t, order } = signal.timeline;
  const declared = campaign.signals.arm_phase?.between ?? null;
  return armPhase(signal.signal, onRun(signal, t), order, { declared, period: trajectory.period }, settings);
}

/** A slow command follows its declared shape between two messages, unless the manifest says what it does there. */
function drawn({ campaign, run, settings }: Given, name: SignalName, track: CommandTrack): CommandTrack {
  const isSaid = campaign.signals[name]?.between != null;
  return (isSaid ? null : shapedCommand(track, campaign.trajectories[run.trajectory]!, settings)) ?? track;
}

/**
 * A command as its messages say, on the run's clock, in the campaign's axes; null where there is none.
 *
 * @param between  what it means between two messages; null: decided from them
 */
export function commandOf(
  { campaign, prepared, onRun, settings }: Given & Clocked,
  name: SignalName,
  between = campaign.signals[name]?.between ?? null,
): CommandTrack | null {
  const signal = prepared.get(name);
  if (!signal || signal.timeline.t.length === 0) return null;
  const source = campaign.signals[name];
  const { t, order } = signal.timeline;
  const track = buildCommandTrack(signal.signal, onRun(signal, t), order, between, settings);
  return turnCommand(track, source);
}

/** Whether something was commanded while poses were recorded. */
function meets({ t }: CommandTrack, [from, to]: Window): boolean {
  return t[0]! <= to && t[t.length - 1]! >= from;
}

/**
 * A command in the campaign's axes. One in the vehicle's or the arm's frame turns as the body does; one without an attitude
 * of its own is level in the logged world and so in the campaign's.
 */
function turnCommand(track: CommandTrack, source: SignalSource | undefined): CommandTrack {
  const axes = source?.axes ?? null;
  if (axes === null) return track;
  if (source?.frame !== "world")
    return turnAxes(track, { world: axes.body === "frd" ? "frd" : "enu", body: axes.body });
  const upsideDown = axes.world !== "enu";
  return turnAxes(track, track.attitude === "given" ? axes : { ...axes, body: upsideDown ? "frd" : "flu" });
}
