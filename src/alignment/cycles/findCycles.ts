import type { Trajectory } from "../../contract/campaign.ts";
import type { Settings } from "../../contract/settings.ts";
import type { Check } from "../../foundation/checks.ts";
import type { Window } from "../../foundation/tracks.ts";
import { checkShape } from "./checkShape.ts";
import { checkCount, checkResting, phaseUnknown } from "./cycleChecks.ts";
import { cycleExtent } from "./cycleExtent.ts";
import { describeCommand } from "./describeCommand.ts";
import { type MovingStretch, movingStretches } from "./movingStretch.ts";
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
  const commandStep = (samples.t[samples.t.length - 1]! - samples.t[0]!) / Math.max(1, samples.t.length - 1);
  const commanded = Math.max(0, Math.floor((end + commandStep - start) / wave.period + 1e-3));
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
    ...checkShape(wave, declared, settings),
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
