import { subjectsResting } from "../../catalogue/checks.ts";
import type { Check } from "../../foundation/checks.ts";
import { axes, type Subject, subjects as subjectNames, type Window } from "../../foundation/tracks.ts";
import { plainSumOfSquares } from "../../numeric/descriptive.ts";
import { lowerBound } from "../../numeric/sortedColumns.ts";
import { type CommandTrack, messagesOf, movesWithin } from "../commandTrack.ts";
import { transformPoses } from "../frames.ts";
import { measuredCommand, roundingOf } from "../measuredCommand.ts";
import type { SubjectTrack } from "../subjectTracks.ts";
import { onboardOf } from "../timedSignals.ts";
import { overlapWith } from "../validFraction.ts";
import type { Step } from "./Alignment.ts";
import type { Windowed } from "./findWindows.ts";
import { type Pointed, type Tracked, trackSubjects } from "./placeBodies.ts";
import { type Commanded, commandOf, type Setpointed } from "./placeCommands.ts";
import type { Clocked, Given, Posed, Taken } from "./placeOnClock.ts";

type Commands = Given & Taken & Clocked & Posed & Setpointed & Pointed & Commanded & Windowed & Tracked;

/** What is wrong with the commands, and what hangs on how slowly they come. */
export const judgeCommands: Step<Commands, object> = (record) => {
  const { setpoint, commandRaw, scored, vehicle, pose, settings } = record;
  return {
    adds: {},
    checks: [
      ...commandChecks("vehicle_setpoint", setpoint, scored),
      ...measuredCommand(setpoint, vehicle, pose.interval, settings).map((check) => ({
        ...check,
        touches: { subjects: subjectsResting("vehicle_setpoint") },
      })),
      ...(commandRaw === null ? [] : commandChecks("effector_command", commandRaw, scored)),
      ...coarse(record, "vehicle_setpoint"),
      ...coarse(record, "effector_command"),
      ...rounded(record, "vehicle_setpoint"),
      ...rounded(record, "effector_command"),
    ],
  };
};

/** A moving command that was logged to so few decimals that its rounding alone moves an rms: by the variance of a step, a twelfth of its square. */
function rounded(record: Commands, name: "vehicle_setpoint" | "effector_command"): Check[] {
  const { campaign, settings, scored, setpoint, commandRaw, subjects } = record;
  const track = name === "vehicle_setpoint" ? setpoint : commandRaw;
  if (track === null || scored === null) return [];
  const messages = messagesOf(track);
  const [from, to] = scored.map((at) => lowerBound(messages.t, at)) as [number, number];
  const steps = axes.map((axis) => roundingOf(messages[axis].subarray(from, to)));
  const step = Math.max(...steps);
  if (!(step > 0)) return [];
  const noise = step / Math.sqrt(12);
  const resting = subjectsResting(name);
  const moved = resting.flatMap((subject) =>
    axes
      // the arm's command is turned with the vehicle on its way to the world
      .filter((_, k) => name === "effector_command" || steps[k]! > 0)
      .flatMap((axis): Moved[] => {
        const own = subjects[subject];
        if (own === undefined) return [];
        const rms = rmsIn(own, axis, scored);
        return [{ subject, axis, rms, other: Math.sqrt(Math.max(0, rms * rms - noise * noise)) }];
      }),
  );
  const matters = moved.filter(
    ({ subject, rms, other }) =>
      rms - other > settings.coarse_smallest * (campaign.smallestDifference[subject] ?? Number.POSITIVE_INFINITY),
  );
  const worst = matters[0];
  if (worst === undefined) return [];
  const mm = (metres: number): string => (1e3 * metres).toFixed(1);
  return [
    {
      code: "coarse-command",
      severity: "doubt",
      message: `${name} is logged in steps of ${mm(step)} mm while it moves: without the rounding the rms of ${worst.subject} along ${worst.axis} would be ${mm(worst.other)} mm instead of ${mm(worst.rms)} mm`,
      evidence: {
        signal: name,
        step_m: step,
        subject: worst.subject,
        axis: worst.axis,
        rms_m: worst.rms,
        rms_otherwise_m: worst.other,
      },
      hint: "log the command as it is made, with all its decimals",
      touches: {
        subjects: subjectNames.filter((subject) => matters.some((one) => one.subject === subject)),
        axes: axes.filter((axis) => matters.some((one) => one.axis === axis)),
      },
    },
  ];
}

function rmsIn({ t, error }: SubjectTrack, axis: "x" | "y" | "z", window: readonly [number, number]): number {
  const [from, to] = window.map((at) => lowerBound(t, at)) as [number, number];
  return Math.sqrt(plainSumOfSquares(error[axis].subarray(from, to)) / (to - from));
}

interface Moved {
  readonly subject: Subject;
  readonly axis: "x" | "y" | "z";
  /** rms as it is, and read otherwise, metres */
  readonly rms: number;
  readonly other: number;
}

/**
 * A command that moves within the scored window, but comes slowly: by how much the errors would be others, had it held between two
 * messages instead of moved on, or the other way round. What the manifest says of it, or its declared shape, is no guess.
 */
function coarse(record: Commands, name: "vehicle_setpoint" | "effector_command"): Check[] {
  const { campaign, settings, scored, setpoint, command } = record;
  const track = name === "vehicle_setpoint" ? setpoint : command;
  if (track === null || scored === null || !movesWithin(track, scored)) return [];
  const said = campaign.signals[name]?.between ?? null;
  // what is said is no guess, unless the messages look otherwise
  if (said === null ? !(track.interval > settings.command_interval) : said === track.looks) return [];
  const reading = track.between === "hold" ? "linear" : "hold";
  const moved = readOtherwise(record, name, reading);
  const matters = moved.filter(({ subject, rms, other }) => {
    const smallest = campaign.smallestDifference[subject] ?? (said === null ? Number.POSITIVE_INFINITY : 0);
    const limits = [settings.coarse_share * rms, settings.coarse_smallest * smallest];
    return Math.abs(other - rms) > (said === null ? Math.min(...limits) : Math.max(...limits));
  });
  if (said !== null && matters.length === 0) return [];
  const worst = moved.reduce<Moved | null>(
    (most, one) => (most === null || Math.abs(one.other - one.rms) > Math.abs(most.other - most.rms) ? one : most),
    null,
  );
  if (worst === null) return [];
  const rate = (1 / track.interval).toFixed(1);
  const how =
    said !== null
      ? `it is said to ${said === "hold" ? "hold between them, but they lie" : "move on between them, but they do not lie"} on one smooth path`
      : track.shaped
        ? "between them it was taken to follow its declared shape, on which they lie"
        : `between two of them it was taken to ${track.between === "hold" ? "hold" : "move on along a straight line"}, as they look`;
  const mm = (metres: number): string => (1e3 * metres).toFixed(1);
  return [
    {
      code: "coarse-command",
      severity: track.shaped || matters.length === 0 ? "note" : "doubt",
      message: `${name}: ${rate} messages a second; ${how}. Had it ${reading === "hold" ? "held" : "moved on"}, the rms of ${worst.subject} along ${worst.axis} would be ${mm(worst.other)} mm instead of ${mm(worst.rms)} mm`,
      evidence: {
        signal: name,
        rate_hz: 1 / track.interval,
        taken: track.shaped ? "shape" : track.between,
        other: reading,
        subject: worst.subject,
        axis: worst.axis,
        rms_m: worst.rms,
        rms_otherwise_m: worst.other,
      },
      hint:
        said === null
          ? "log the command as often as it is made; or say what it does between two messages: `between: hold` or `between: linear` on the signal"
          : "look at what takes the messages up: where it truly does as is said, accept the finding; else leave `between` out",
      touches: {
        subjects: subjectNames.filter((subject) => matters.some((one) => one.subject === subject)),
        axes: axes.filter((axis) => matters.some((one) => one.axis === axis)),
      },
    },
  ];
}

/** The rms of each subject and axis in the scored window as it is, and with one command read otherwise between its messages. */
function readOtherwise(
  record: Commands,
  name: "vehicle_setpoint" | "effector_command",
  reading: "hold" | "linear",
): Moved[] {
  const { campaign, run, frame, scored } = record;
  const raw = commandOf(record, name, reading);
  if (raw === null || scored === null) return [];
  const inWorld =
    name === "vehicle_setpoint" || frame === "world" ? transformPoses(raw, onboardOf(campaign, run)) : raw;
  const changed = name === "vehicle_setpoint" ? { ...record, setpoint: inWorld } : { ...record, command: inWorld };
  const others = trackSubjects(changed, []).adds?.subjects ?? {};
  return subjectNames.flatMap((subject) => {
    const [now, otherwise] = [record.subjects[subject], others[subject]];
    if (now === undefined || otherwise === undefined) return [];
    return axes
      .map((axis) => ({ subject, axis, rms: rmsIn(now, axis, scored), other: rmsIn(otherwise, axis, scored) }))
      .filter(({ rms, other }) => Number.isFinite(rms + other));
  });
}

/** What is wrong with a command: stretches in which nothing was commanded, messages without attitude, unfilled setpoints. */
function commandChecks(
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
