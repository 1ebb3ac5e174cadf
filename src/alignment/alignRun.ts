import { checkTouches, subjectsResting } from "../catalogue/checks.ts";
import type { MeasuredDeclaration, RunGrounds } from "../contract/runGrounds.ts";
import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import type { PointTrack, PoseTrack, SignalName, Subject, Window } from "../foundation/tracks.ts";
import type { ClockWitness } from "./clock/clockWitness.ts";
import type { ClockEstimate, OffsetCovariance } from "./clock/estimateClock.ts";
import { type CommandTrack, movesWithin } from "./commandTrack.ts";
import { type Heading, headingOf } from "./heading.ts";
import type { DecidedStretch } from "./logged/commonStretch.ts";
import type { LoggedFlight } from "./logged/loggedFlight.ts";
import { outputColumns } from "./powerChecks.ts";
import type { PreparedSignals } from "./prepareSignals.ts";
import { Alignment } from "./steps/Alignment.ts";
import { findWindows, type Windowed } from "./steps/findWindows.ts";
import { judgeCommands } from "./steps/judgeCommands.ts";
import { judgeMotion, judgePoses } from "./steps/judgeRun.ts";
import { type Pointed, placePoints, type Tracked, trackSubjects } from "./steps/placeBodies.ts";
import { type Commanded, placeCommand, placeSetpoint, type Setpointed } from "./steps/placeCommands.ts";
import {
  type Clocked,
  type Given,
  given,
  joinClocks,
  type Posed,
  placePoses,
  type Taken,
  takeSignals,
} from "./steps/placeOnClock.ts";
import type { SubjectTrack } from "./subjectTracks.ts";

/** Columns of equal length: seconds of the run, volts, and amperes with the log's own sign; NaN where there is none. */
export interface BatteryTrack {
  readonly t: Float64Array;
  readonly voltage: Float64Array;
  readonly current: Float64Array;
}

/** Outputs of the motors as logged, one column each, on the run's clock. */
export interface MotorsTrack {
  readonly t: Float64Array;
  readonly outputs: readonly Float64Array[];
}

/** Effort of the arm as logged, in the log's own unit. */
export interface EffortTrack {
  readonly t: Float64Array;
  readonly value: Float64Array;
}

/** A run on one clock, in one frame: what each subject did and was asked to do, the windows, and what is wrong with it. */
export interface AlignedRun {
  /** the run's epoch on the reference clock, nanoseconds; null where no signal could be placed */
  readonly epoch: bigint | null;
  readonly checks: readonly Check[];
  readonly clocks: Readonly<Record<string, ClockEstimate>>;
  /** of the offset (at the run's start) and skew between the capture's clock and the command's; null where they share one or it is declared */
  readonly clockCovariance: OffsetCovariance | null;
  /** what gyro or estimate show of the capture's clock; null where they show nothing */
  readonly witness: ClockWitness | null;
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
  /** readings of the battery on the run's clock, volts and amperes as logged; null where it was not logged */
  readonly battery: BatteryTrack | null;
  /** null where they were not logged */
  readonly motors: MotorsTrack | null;
  readonly armEffort: EffortTrack | null;
  /** body point and tool point as measured, for the noise estimate in flight */
  readonly bodies: Readonly<Partial<Record<"vehicle" | "effector", PointTrack>>>;
  /** median interval of each body's samples, seconds */
  readonly intervals: Readonly<Partial<Record<"vehicle" | "effector", number>>>;
  /** of a logged trajectory without a period: what decides the stretch that all its runs are scored over; else null */
  readonly flight: LoggedFlight | null;
  /** the way the vehicle faces; null where it is not known, or goes round */
  readonly heading: Heading | null;
  /** axes of subjects (the arm's are the vehicle's own), poses and bodies: of the world, or of the heading (`turnToHeading`) */
  readonly judgedIn: "world" | "heading";
  /** typical stamp minus receipt, seconds, of each signal placed by stamps that are not its receipt */
  readonly stampMinusReceipt: Readonly<Partial<Record<SignalName, number>>>;
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
 * @param stretch   of a run of a logged trajectory without a period: what it is scored over, decided over all its runs
 */
export function alignRun(
  campaign: RunGrounds,
  run: MeasuredDeclaration,
  prepared: PreparedSignals,
  before: readonly Check[],
  settings: Settings,
  stretch: DecidedStretch | null = null,
): AlignedRun {
  const start = given({ campaign, run, prepared, settings, stretch });
  const { whole, known, checks } = Alignment.begin(start, [
    ...before,
    ...[...prepared].flatMap(([name, signal]) => signal.checks.map(restingOn(name))),
  ])
    .step(takeSignals)
    .step(joinClocks)
    .step(placePoses)
    .step(placeSetpoint)
    .step(placePoints)
    .step(placeCommand)
    .step(trackSubjects)
    .step(findWindows)
    .step(judgePoses)
    .step(judgeCommands)
    .step(judgeMotion);
  return whole === null ? unaligned(start.epoch, known.clocks ?? {}, checks) : aligned(whole, checks);
}

/** A finding on one signal can have moved what rests on that signal. */
function restingOn(name: SignalName): (check: Check) => Check {
  return (check) => ({ ...check, touches: { subjects: subjectsResting(name), ...check.touches } });
}

type Whole = Given & Taken & Clocked & Posed & Setpointed & Pointed & Commanded & Windowed & Tracked;

function aligned(record: Whole, checks: readonly Check[]): AlignedRun {
  const { epoch, clocks, maps, pose, setpointSignal, hold, cycles, period, scored, subjects, setpoint } = record;
  const { vehicle, tool, turned, tilted, toolMarkers, effectorInterval, settings } = record;
  return {
    epoch,
    checks: movesWithin(setpoint, scored) ? checks : checks.map(sparingVehicle),
    clocks,
    witness: record.witness,
    clockCovariance: maps.get(pose.clock)?.covariance ?? maps.get(setpointSignal.clock)?.covariance ?? null,
    hold,
    cycles,
    period,
    scored,
    subjects,
    vehicle: tilted ? vehicle : null,
    setpoint,
    battery: batteryOf(record),
    motors: motorsOf(record),
    armEffort: effortOf(record),
    bodies: tool === null ? { vehicle } : { vehicle, effector: tool },
    intervals: { vehicle: pose.interval, ...(toolMarkers === null ? {} : { effector: effectorInterval }) },
    flight: record.flight,
    heading: headingOf(setpoint, turned ? vehicle : null, { scored, hold }, settings),
    judgedIn: "world",
    stampMinusReceipt: Object.fromEntries(
      [...record.prepared]
        .filter(([, { signal }]) => signal.stamped !== signal.received)
        .map(([name, { timeline }]) => [name, timeline.stampMinusReceipt] as const)
        .filter(([, distance]) => Number.isFinite(distance)),
    ),
    choices: choicesOf(record),
  };
}

function batteryOf({ prepared, onRun }: Whole): BatteryTrack | null {
  const battery = prepared.get("battery");
  if (battery === undefined) return null;
  const { t, order } = battery.timeline;
  const { voltage, current } = battery.signal.columns;
  const column = (values: Float64Array | undefined): Float64Array =>
    Float64Array.from(order, (row) => values?.[row] ?? Number.NaN);
  return { t: onRun(battery, t), voltage: column(voltage), current: column(current) };
}

function motorsOf({ prepared, onRun }: Whole): MotorsTrack | null {
  const motors = prepared.get("motors");
  if (motors === undefined) return null;
  const { t, order } = motors.timeline;
  const outputs = outputColumns(motors.signal).map((column) => Float64Array.from(order, (row) => column[row]!));
  return { t: onRun(motors, t), outputs };
}

function effortOf({ prepared, onRun }: Whole): EffortTrack | null {
  const effort = prepared.get("arm_effort");
  if (effort === undefined) return null;
  const { t, order } = effort.timeline;
  const { value } = effort.signal.columns;
  return { t: onRun(effort, t), value: Float64Array.from(order, (row) => value?.[row] ?? Number.NaN) };
}

/** While its setpoint rests, a wrong clock moves nothing of the vehicle. */
function sparingVehicle(check: Check): Check {
  if (!/^(?:stamp|clock)-/.test(check.code)) return check;
  const { subjects } = { ...checkTouches[check.code], ...check.touches };
  return { ...check, touches: { ...check.touches, subjects: subjects.filter((subject) => subject !== "vehicle") } };
}

function betweenOf({ between, shaped }: CommandTrack): string {
  return shaped ? "as the declared shape" : between;
}

function choicesOf({ prepared, pose, setpoint, commandRaw, command, phase, cyclesOf }: Whole): Record<string, string> {
  return {
    ...Object.fromEntries([...prepared].map(([name, { timeline }]) => [`${name}.stamp`, timeline.source])),
    ...(pose.bodyUp === null ? {} : { "vehicle_pose.body_up": pose.bodyUp }),
    "vehicle_setpoint.between": betweenOf(setpoint),
    "vehicle_setpoint.attitude": setpoint.attitude,
    ...(commandRaw === null ? {} : { "effector_command.between": betweenOf(command ?? commandRaw) }),
    "cycles.from": cyclesOf === commandRaw ? "effector_command" : cyclesOf === phase ? "arm_phase" : "vehicle_setpoint",
  };
}

/** A run that could not be brought to one clock and frame: what was found wrong with it is all there is. */
export function unaligned(epoch: bigint | null, clocks: AlignedRun["clocks"], checks: readonly Check[]): AlignedRun {
  return {
    epoch,
    checks,
    clocks,
    clockCovariance: null,
    witness: null,
    hold: null,
    cycles: [],
    period: null,
    scored: null,
    subjects: {},
    vehicle: null,
    setpoint: null,
    battery: null,
    motors: null,
    armEffort: null,
    bodies: {},
    intervals: {},
    flight: null,
    heading: null,
    judgedIn: "world",
    stampMinusReceipt: {},
    choices: {},
  };
}
