import type { Campaign, RunDeclaration } from "../contract/campaign.ts";
import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import type { SignalName, Subject } from "../foundation/signals.ts";
import type { PointTrack, PoseTrack, Window } from "../foundation/tracks.ts";
import type { Vector3 } from "../foundation/units.ts";
import { extent } from "../numeric/extent.ts";
import type { ClockEstimate, OffsetCovariance } from "./clock/estimateClock.ts";
import { epochStrangers, mixedStamps } from "./clockChecks.ts";
import { type ClockMap, mapClocks } from "./clockMap.ts";
import { commandChecks } from "./commandChecks.ts";
import { buildCommandTrack, type CommandTrack, messagesOf } from "./commandTrack.ts";
import { conventionChecks } from "./conventions/conventionChecks.ts";
import { findCycles } from "./cycles/findCycles.ts";
import { describeFaults } from "./describeFaults.ts";
import { frameChecks } from "./frameChecks.ts";
import { pointOnBody, transformPoses, withControlPoint } from "./frames.ts";
import { findHoldWindow } from "./holdWindow.ts";
import { hasAttitude, hasTilt, pointUnplaced, vehicleUnturned } from "./measuredAttitude.ts";
import { powerChecks } from "./powerChecks.ts";
import type { PreparedSignals } from "./prepareSignals.ts";
import { apart, noCommand, noPositions, noSetpoint, nothingToScore, tooLittle, withoutCommand } from "./refusals.ts";
import { runChecks } from "./runChecks.ts";
import { armTrack, effectorTrack, type SubjectTrack, vehicleTrack } from "./subjectTracks.ts";
import { findSwaps } from "./swappedBodies.ts";
import { onboardOf, type PreparedSignal } from "./timedSignals.ts";
import { turnCommand } from "./turnCommand.ts";
import { validFraction } from "./validFraction.ts";

/** A run on one clock, in one frame: what each subject did and was asked to do, the windows, and what is wrong with it. */
export interface AlignedRun {
  /** the run's epoch on the reference clock, nanoseconds; null where no signal could be placed */
  readonly epoch: bigint | null;
  readonly checks: readonly Check[];
  readonly clocks: Readonly<Record<string, ClockEstimate>>;
  /** of the offset (at the run's start) and skew between the capture's clock and the command's; null where they share one or it is declared */
  readonly clockCovariance: OffsetCovariance | null;
  readonly hold: Window | null;
  readonly cycles: readonly Window[];
  /** seconds; null where the trajectory has no cycles of equal length */
  readonly period: number | null;
  /** the stretch the verdict is about: all cycles, or the hold of a `hold` trajectory */
  readonly scored: Window | null;
  readonly subjects: Readonly<Partial<Record<Subject, SubjectTrack>>>;
  /** measured body pose, for the attitude error and what rests on it; null where no attitude was measured */
  readonly vehicle: PoseTrack | null;
  readonly setpoint: CommandTrack | null;
  /** body point and tool point as measured, for the noise estimate in flight */
  readonly bodies: Readonly<Partial<Record<"vehicle" | "effector", PointTrack>>>;
  /** median interval of each body's samples, seconds */
  readonly intervals: Readonly<Partial<Record<"vehicle" | "effector", number>>>;
  /** choices made from the data, for `settings` */
  readonly choices: Readonly<Record<string, string>>;
}

/**
 * Aligns one run: clocks, frames, what was commanded, windows, cycles, and the checks of all of them.
 *
 * No rotation, translation or delay is fitted. Where a step cannot be done, what rests on it is left out and a check of
 * severity `unusable` says why; nothing is guessed.
 *
 * @param prepared  what the run's logs gave, prepared
 * @param before    checks from reading (missing signals, a recovered log)
 */
export function alignRun(
  campaign: Campaign,
  run: RunDeclaration,
  prepared: PreparedSignals,
  before: readonly Check[],
  settings: Settings,
): AlignedRun {
  const checks: Check[] = [...before, ...[...prepared.values()].flatMap((signal) => signal.checks)];
  const reference = campaign.clocks.reference ?? prepared.get("vehicle_setpoint")?.clock ?? "";
  const epoch = runEpoch([...prepared.values()].filter((signal) => signal.clock === reference));
  const empty = (more: readonly Check[]): AlignedRun => ({
    epoch,
    checks: [...checks, ...more],
    clocks: {},
    clockCovariance: null,
    hold: null,
    cycles: [],
    period: null,
    scored: null,
    subjects: {},
    vehicle: null,
    setpoint: null,
    bodies: {},
    intervals: {},
    choices: {},
  });
  const pose = prepared.get("vehicle_pose");
  const setpointSignal = prepared.get("vehicle_setpoint");
  if (
    epoch === null ||
    !pose?.poses ||
    pose.poses.t.length < 3 ||
    !setpointSignal ||
    setpointSignal.timeline.t.length === 0
  ) {
    const asLogged =
      pose === undefined
        ? []
        : describeFaults(
            "vehicle_pose",
            pose.faults,
            (t) => t - (pose.timeline.t[0] ?? 0),
            null,
            0,
            pose.interval,
            settings,
          );
    return empty([
      ...asLogged,
      ...(checks.some((check) => check.severity === "unusable") ? [] : [nothingToScore(pose, setpointSignal)]),
    ]);
  }
  const strangers = epochStrangers(prepared);
  if (strangers.length > 0) return empty(strangers);
  checks.push(...mixedStamps(prepared, settings));
  const maps = mapClocks(campaign, prepared, reference, epoch, settings);
  for (const map of maps.values()) checks.push(...map.checks);
  const clocks = Object.fromEntries(
    [...maps].flatMap(([name, map]) => (map.estimate === null ? [] : [[name, map.estimate] as const])),
  );
  const mapOf = (signal: PreparedSignal): ClockMap => maps.get(signal.clock) ?? maps.get(reference)!;
  const onRun = (signal: PreparedSignal, t: Float64Array): Float64Array =>
    mapOf(signal).columnToRun(t, signal.timeline.epoch);
  const posesOf = (name: SignalName): PoseTrack | null => {
    const signal = prepared.get(name);
    return signal?.poses && signal.poses.t.length > 2 ? { ...signal.poses, t: onRun(signal, signal.poses.t) } : null;
  };
  const commandOf = (name: SignalName): CommandTrack | null => {
    const signal = prepared.get(name);
    if (!signal || signal.timeline.t.length === 0) return null;
    const source = campaign.signals[name];
    const track = buildCommandTrack(
      signal.signal,
      onRun(signal, signal.timeline.t),
      signal.timeline.order,
      source?.between ?? null,
      settings,
    );
    return turnCommand(track, source);
  };
  const markers = posesOf("vehicle_pose")!;
  if (!Number.isFinite(markers.t[0]!)) return { ...empty([]), clocks };
  const setpointOnboard = commandOf("vehicle_setpoint")!;
  const setpoint = transformPoses(setpointOnboard, onboardOf(campaign, run));
  // as recorded, not as screening left it: a dropped beginning is lost time, no shorter recording
  const stamps = pose.timeline.t;
  const recorded: Window = [
    mapOf(pose).toRun(stamps[0]!, pose.timeline.epoch),
    mapOf(pose).toRun(stamps[stamps.length - 1]!, pose.timeline.epoch),
  ];
  if (!setpoint.x.some(Number.isFinite)) return { ...empty([noSetpoint(setpointSignal.timeline.t.length)]), clocks };
  if (!meets(setpoint, recorded)) {
    return { ...empty([apart(recorded, setpoint, "setpoints", campaign)]), clocks };
  }
  const { bodyPoint, toolPoint } = campaign.frames;
  const turned = hasAttitude(pose);
  const tilted = hasTilt(pose);
  if (!tilted && isAway(bodyPoint)) return { ...empty([pointUnplaced(pose, "body_point", bodyPoint)]), clocks };
  const vehicle = withControlPoint(markers, bodyPoint);
  const toolMarkers = posesOf("effector_pose");
  const effector = prepared.get("effector_pose");
  const placed = toolMarkers === null || effector === undefined || !isAway(toolPoint) || hasTilt(effector);
  if (!placed) checks.push(pointUnplaced(effector, "tool_point", toolPoint));
  const tool = toolMarkers === null || !placed ? null : pointOnBody(toolMarkers, toolPoint);
  const frame = campaign.signals.effector_command?.frame ?? "world";
  const commandGiven = commandOf("effector_command");
  const commandRaw = commandGiven?.x.some(Number.isFinite) ? commandGiven : null;
  if (commandGiven !== null && commandRaw === null)
    checks.push(noPositions(prepared.get("effector_command")!.timeline.t.length));
  const command =
    commandRaw !== null && frame === "world" ? transformPoses(commandRaw, onboardOf(campaign, run)) : commandRaw;
  if (command !== null && !meets(command, recorded)) {
    checks.push(apart(recorded, command, "commands of the effector", campaign));
  }
  const trajectory = campaign.trajectories[run.trajectory]!;
  const moving = commandRaw !== null && isMoving(commandRaw) ? commandRaw : setpointOnboard;
  const cyclesOf = trajectory.shape === "hold" && commandRaw !== null ? commandRaw : moving;
  const commandLost = campaign.signals.effector_command !== undefined && commandRaw === null;
  // a logged trajectory is whatever moves: without the arm's command the vehicle's landing would pass for it
  const lost = commandLost && trajectory.shape === "logged";
  const {
    windows,
    period,
    checks: cycleChecks,
  } = lost
    ? { windows: [], period: trajectory.period, checks: [noCommand()] }
    : findCycles(messagesOf(cyclesOf), trajectory, recorded, settings);
  checks.push(...(commandLost ? cycleChecks.map(withoutCommand) : cycleChecks));
  const hold = findHoldWindow(command === null ? [setpoint] : [setpoint, command], recorded, settings);
  const subjects: Partial<Record<Subject, SubjectTrack>> = { vehicle: vehicleTrack(vehicle, setpoint) };
  const effectorInterval = prepared.get("effector_pose")?.interval ?? Number.NaN;
  if (tool !== null && command !== null) {
    subjects.effector = effectorTrack(tool, command, setpoint, frame, campaign.frames);
    if (tilted) subjects.arm = armTrack(vehicle, tool, command, frame, campaign.frames, effectorInterval, settings);
  }
  if (!tilted) checks.push(vehicleUnturned(pose, subjects.effector !== undefined));
  const scored: Window | null =
    trajectory.shape === "hold" ? hold : windows.length > 0 ? [windows[0]![0], windows.at(-1)![1]] : null;
  const swaps = swapFaults(prepared);
  for (const name of ["vehicle_pose", "effector_pose"] as const) {
    const signal = prepared.get(name);
    const subject = subjects[name === "vehicle_pose" ? "vehicle" : "effector"];
    if (!signal?.poses) continue;
    const valid =
      scored === null || !subject ? 1 : validFraction(subject.t, signal.interval, scored, settings.gap_intervals);
    const { toRun } = mapOf(signal);
    const faults = [...signal.faults.filter((fault) => fault.code !== "jump" || swaps.length === 0), ...swaps];
    checks.push(
      ...describeFaults(name, faults, (t) => toRun(t, signal.timeline.epoch), scored, valid, signal.interval, settings),
    );
    if (valid < settings.valid_fraction && !checks.some((check) => check.severity === "unusable")) {
      checks.push(tooLittle(name, valid, scored!, setpoint, command));
    }
  }
  for (const [name, track] of [
    ["vehicle_setpoint", setpoint],
    ["effector_command", commandRaw],
  ] as const) {
    if (track !== null) checks.push(...commandChecks(name, track, scored));
  }
  checks.push(
    ...frameChecks({ vehicle, turned, tool, setpoint, subjects, scored: scored ?? hold }, settings),
    ...conventionChecks({ prepared, markers, tilted, subjects, frame, scored, hold, onRun }, settings),
    ...runChecks(
      { trajectory, vehicle: subjects.vehicle!, setpoint, recorded, hold, scored, period, interval: pose.interval },
      settings,
    ),
    ...powerChecks(prepared, (signal, t) => mapOf(signal).toRun(t, signal.timeline.epoch), scored, settings),
  );
  return {
    epoch,
    checks,
    clocks,
    clockCovariance: maps.get(pose.clock)?.covariance ?? maps.get(setpointSignal.clock)?.covariance ?? null,
    hold,
    cycles: windows,
    period,
    scored,
    subjects,
    vehicle: tilted ? vehicle : null,
    setpoint,
    bodies: tool === null ? { vehicle } : { vehicle, effector: tool },
    intervals: { vehicle: pose.interval, ...(toolMarkers === null ? {} : { effector: effectorInterval }) },
    choices: {
      ...Object.fromEntries([...prepared].map(([name, { timeline }]) => [`${name}.stamp`, timeline.source])),
      ...(pose.bodyUp === null ? {} : { "vehicle_pose.body_up": pose.bodyUp }),
      "vehicle_setpoint.between": setpoint.between,
      "vehicle_setpoint.attitude": setpoint.attitude,
      ...(commandRaw === null ? {} : { "effector_command.between": commandRaw.between }),
      "cycles.from": cyclesOf === commandRaw ? "effector_command" : "vehicle_setpoint",
    },
  };
}

/** Whether something was commanded while poses were recorded. */
function meets({ t }: CommandTrack, [from, to]: Window): boolean {
  return t[0]! <= to && t[t.length - 1]! >= from;
}

/** The first instant of any signal on the reference clock, nanoseconds. */
function runEpoch(signals: readonly PreparedSignal[]): bigint | null {
  let first: bigint | null = null;
  for (const { timeline } of signals) {
    if (timeline.t.length === 0) continue;
    const at = timeline.epoch + BigInt(Math.round(timeline.t[0]! * 1e9));
    if (first === null || at < first) first = at;
  }
  return first;
}

function isAway(point: Vector3): boolean {
  return point.some((metres) => metres !== 0);
}

function isMoving(command: CommandTrack): boolean {
  return [command.x, command.y, command.z].some((column) => {
    const { low, high } = extent(column);
    return high - low > 1e-3;
  });
}

function swapFaults(prepared: PreparedSignals): ReturnType<typeof findSwaps> {
  const vehicle = prepared.get("vehicle_pose");
  const effector = prepared.get("effector_pose");
  if (!vehicle || !effector) return [];
  return findSwaps(vehicle.excursions, effector.excursions, Math.max(vehicle.interval, effector.interval));
}
