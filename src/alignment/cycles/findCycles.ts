import type { Trajectory } from "../../contract/campaign.ts";
import type { Settings } from "../../contract/settings.ts";
import type { Check } from "../../foundation/checks.ts";
import type { Window } from "../../foundation/tracks.ts";
import { checkShape } from "./checkShape.ts";
import { cycleExtent } from "./cycleExtent.ts";
import { describeCommand, type MovingStretch, movingStretches } from "./describeCommand.ts";
import { nearPeriod, notCyclic, otherPeriod } from "./notCyclic.ts";
import type { CommandSamples } from "./waveform.ts";

/** The cycle window of a run: whole cycles one after the other, phase 0 at the start of each. */
export interface Cycles {
  readonly windows: readonly Window[];
  /** seconds; null for a single stretch of a `logged` trajectory without a period */
  readonly period: number | null;
  readonly checks: readonly Check[];
}

/** The share of its declared period within which a circle's or a line's own is looked for: their checks name what is wrong. */
const anyPeriod = 0.1;

/**
 * Finds the cycles of a command and checks it against the declared trajectory.
 *
 * Phase 0 is where the cyclic command starts: the instant, between the last sample at rest and the first that moved, at
 * which the fitted waveform passes the resting position. Where the motion ramps in, cycles are counted from the same
 * instant and those not yet of full amplitude are left out; where the command first travels to the path, phase 0 is
 * where it joins the path. Only whole cycles count.
 *
 * @param samples   the command's messages, seconds since the run's epoch, in the command's own frame
 * @param within    stretch in which poses were recorded: a cycle that is not inside does not count
 */
export function findCycles(samples: CommandSamples, declared: Trajectory, within: Window, settings: Settings): Cycles {
  if (declared.shape === "hold")
    return { windows: [], period: null, checks: checkResting(samples, declared.duration, within) };
  const period = declared.period;
  const all = movingStretches(samples, period === null ? 2 : Math.max(0.3, 0.5 * period));
  const common = ({ from, to }: MovingStretch): number =>
    Math.min(samples.t[to]!, within[1]) - Math.max(samples.t[from]!, within[0]);
  // an autopilot that logs on over several flights commands those, too, that another recording is of
  const recorded = all.filter((each) => common(each) > 0);
  const stretches = recorded.length > 0 ? recorded : all;
  const stretch = longest(
    stretches,
    recorded.length > 0 ? common : ({ from, to }) => samples.t[to]! - samples.t[from]!,
  );
  if (stretch === null) return noMotion(declared.shape);
  if (period === null) return wholeStretch(samples, stretches, within);
  const logged = declared.shape === "logged";
  const wave = describeCommand(samples, stretch, period, logged ? nearPeriod : anyPeriod);
  if (wave === null) {
    return { windows: [], period, checks: [notCyclic(declared.shape, period, samples, stretch, null)] };
  }
  const cyclic = wave.residual < 0.1 * wave.spread;
  if (!cyclic && !logged) {
    return { windows: [], period, checks: [notCyclic(declared.shape, period, samples, stretch, wave)] };
  }
  const other = logged ? otherPeriod(declared.shape, period, samples, stretch, wave) : null;
  if (other !== null) return { windows: [], period, checks: [other] };
  const { start, end, ramp } = cyclic
    ? cycleExtent(samples, stretch, wave)
    : { start: beginOf(samples, stretch), end: samples.t[stretch.to]!, ramp: 0 };
  // where a measured motion begins and ends is known less well than a command's
  const slack = samples.phaseOnly === true ? 0.05 : 1e-3;
  const commandStep = (samples.t[samples.t.length - 1]! - samples.t[0]!) / Math.max(1, samples.t.length - 1);
  const commanded = Math.max(0, Math.floor((end + commandStep - start) / wave.period + slack));
  const windows: Window[] = [];
  for (let k = 0; k < commanded; k++) {
    const window: Window = [start + k * wave.period, start + (k + 1) * wave.period];
    if (window[0] >= within[0] - 1e-9 && window[1] <= within[1] + 1e-9) windows.push(window);
  }
  const startsMoving = stretch.from === 0 || !Number.isFinite(samples.x[stretch.from - 1]!);
  const cutShort =
    startsMoving ||
    samples.t[stretch.to]! > samples.t[samples.t.length - 1]! - 2 * commandStep ||
    windows.length < commanded;
  const checks = [
    ...checkShape(wave, declared, settings, samples.phaseOnly === true),
    ...(startsMoving && declared.shape !== "logged" ? [phaseUnknown(samples.t[stretch.from]!)] : []),
    ...checkCount(declared, { commanded, ramp, recorded: windows.length, cutShort }, settings),
  ];
  return { windows, period: wave.period, checks };
}

function longest(
  stretches: readonly MovingStretch[],
  length: (stretch: MovingStretch) => number,
): MovingStretch | null {
  let best: MovingStretch | null = null;
  for (const stretch of stretches) if (best === null || length(stretch) > length(best)) best = stretch;
  return best;
}

/** Where a motion begins that no waveform tells: at the last sample at rest, of a held command at the first that differs. */
function beginOf({ t, held }: CommandSamples, { from }: MovingStretch): number {
  return t[held === true ? from + 1 : from]!;
}

function wholeStretch(samples: CommandSamples, stretches: readonly MovingStretch[], within: Window): Cycles {
  const from = Math.max(within[0], beginOf(samples, stretches[0]!));
  const last = samples.t[stretches.at(-1)!.to]!;
  // a command that steps has moved when it stepped, but the motion it asks for goes on until its last message
  const end = last - samples.t[stretches[0]!.from]! < 2 ? samples.t[samples.t.length - 1]! : last;
  const to = Math.min(within[1], end);
  return { windows: to > from ? [[from, to]] : [], period: null, checks: [] };
}

function noMotion(shape: string): Cycles {
  return {
    windows: [],
    period: null,
    checks: [
      {
        code: "wrong-trajectory",
        severity: "unusable",
        message: `declared as ${shape}, but the command never moves`,
        evidence: { declared: shape, moving_s: 0 },
        hint: "check the trajectory of this run in the manifest, the topic of the command, and whether the recording covers the cycles",
      },
    ],
  };
}

/** A recording that begins within the cycles: where phase 0 belongs is not in it. */
function phaseUnknown(from: number): Check {
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

/** A command that is to rest may move for this share of its duration. */
export const mostMoving = 0.2;

/** For how long a command moves in all, seconds. */
export function movingWithin(samples: CommandSamples): number {
  const stretches = movingStretches(samples, 0.3);
  return stretches.reduce((sum, stretch) => sum + samples.t[stretch.to]! - samples.t[stretch.from]!, 0);
}

/** A command declared to rest that moves. */
function checkResting(samples: CommandSamples, duration: number, within: Window): Check[] {
  const moving = movingWithin(samples);
  const recorded = within[1] - within[0];
  if (moving > mostMoving * Math.min(duration, recorded)) {
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

interface CycleCount {
  /** full cycles commanded, cycles of the ramp before them, full cycles inside the recording */
  readonly commanded: number;
  readonly ramp: number;
  readonly recorded: number;
  /** whether the recording, not the command, ended the cycles */
  readonly cutShort: boolean;
}

/** Compares the cycles found with those declared, and says where the recording holds too few. */
function checkCount(declared: Trajectory, count: CycleCount, settings: Settings): Check[] {
  const { commanded, ramp, recorded, cutShort } = count;
  const declaredCycles = declared.shape === "circle" || declared.shape === "line" ? declared.cycles : null;
  const tolerance = settings.trajectory_tolerance * (declaredCycles ?? 0);
  const matches = (cycles: number): boolean =>
    declaredCycles !== null && Math.abs(cycles - declaredCycles) <= tolerance;
  // a declared number of cycles may or may not count those in which the motion grows
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
