import type { Trajectory } from "../../contract/campaign.ts";
import type { Settings } from "../../contract/settings.ts";
import type { Check } from "../../foundation/checks.ts";
import type { Window } from "../../foundation/tracks.ts";
import { fitLine } from "../../numeric/fitLine.ts";
import { checkShape } from "./checkShape.ts";
import { type MovingStretch, movingStretches } from "./movingStretch.ts";
import { type CommandSamples, fitWaveform, refinePeriod, type Waveform, waveformAt } from "./waveform.ts";

/** The cycle window of a run: whole cycles one after the other, phase 0 at the start of each. */
export interface Cycles {
  readonly windows: readonly Window[];
  /** seconds; null for a single stretch of a `logged` trajectory without a period */
  readonly period: number | null;
  readonly checks: readonly Check[];
}

/** Harmonics used to describe a command: enough for trapezoidal strokes. */
const commandHarmonics = 7;

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
  const stretches = movingStretches(samples, period === null ? 2 : Math.max(0.3, 0.5 * period));
  const stretch = longest(samples, stretches);
  if (stretch === null) return noMotion(declared.shape);
  if (period === null) return wholeStretch(samples, stretches, within);
  const wave = describe(samples, stretch, period, declared.shape === "logged" ? 0.02 : 0.1);
  if (wave === null) {
    return { windows: [], period, checks: [notCyclic(declared.shape, period, samples, stretch, null)] };
  }
  const cyclic = wave.residual < 0.1 * wave.spread;
  if (!cyclic && declared.shape !== "logged") {
    return { windows: [], period, checks: [notCyclic(declared.shape, period, samples, stretch, wave)] };
  }
  const { start, end, ramp } = cyclic
    ? extent(samples, stretch, wave)
    : { start: samples.t[stretch.from]!, end: samples.t[stretch.to]!, ramp: 0 };
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

function longest(samples: CommandSamples, stretches: readonly MovingStretch[]): MovingStretch | null {
  let best: MovingStretch | null = null;
  const duration = (stretch: MovingStretch): number => samples.t[stretch.to]! - samples.t[stretch.from]!;
  for (const stretch of stretches) if (best === null || duration(stretch) > duration(best)) best = stretch;
  return best;
}

function wholeStretch(samples: CommandSamples, stretches: readonly MovingStretch[], within: Window): Cycles {
  const from = Math.max(within[0], samples.t[stretches[0]!.from]!);
  const last = samples.t[stretches.at(-1)!.to]!;
  // a command that steps has moved when it stepped, but the motion it asks for goes on until its last message
  const end = last - samples.t[stretches[0]!.from]! < 2 ? samples.t[samples.t.length - 1]! : last;
  const to = Math.min(within[1], end);
  return { windows: to > from ? [[from, to]] : [], period: null, checks: [] };
}

/**
 * Waveform of the full-amplitude part of a motion. Where it begins and ends is not known yet: the motion may ramp in, or
 * travel to its path first. So the first 1.2 and the last 0.6 periods are left out, and where that does not repeat,
 * larger parts of the beginning or the end; what repeats best is taken.
 */
function describe(samples: CommandSamples, stretch: MovingStretch, guess: number, share: number): Waveform | null {
  const first = samples.t[stretch.from]!;
  const last = samples.t[stretch.to]!;
  const length = last - first;
  const parts = [
    ...(length < 6 * guess ? [[first, last] as const] : []),
    [first + 1.2 * guess, last - 0.6 * guess],
    [first + Math.max(0.35 * length, 1.2 * guess), last - 0.6 * guess],
    [first + 0.6 * length, last - 0.6 * guess],
    [first + 1.2 * guess, first + 0.6 * length],
  ];
  let best: Waveform | null = null;
  for (const [from, to] of parts) {
    const wave = fitPart(samples, from, to, guess, share);
    if (wave !== null && (best === null || wave.residual / wave.spread < best.residual / best.spread)) best = wave;
    if (best !== null && best.residual < 0.02 * best.spread) break;
  }
  return best;
}

function fitPart(samples: CommandSamples, from: number, to: number, guess: number, share: number): Waveform | null {
  if (to - from < 0.95 * guess) return null;
  const part = slice(samples, from, to);
  const perPeriod = (part.t.length * guess) / (to - from);
  const harmonics = Math.max(1, Math.min(commandHarmonics, Math.floor(perPeriod / 4)));
  const period = to - from >= 1.5 * guess ? refinePeriod(part, guess, share, harmonics) : guess;
  return fitWaveform(part, period, harmonics);
}

function slice(samples: CommandSamples, from: number, to: number): CommandSamples {
  let a = 0;
  while (a < samples.t.length && samples.t[a]! < from) a++;
  let b = samples.t.length;
  while (b > a && samples.t[b - 1]! > to) b--;
  const rows: number[] = [];
  for (let i = a; i < b; i++) if (Number.isFinite(samples.x[i]! + samples.y[i]! + samples.z[i]!)) rows.push(i);
  const pick = (column: Float64Array): Float64Array => Float64Array.from(rows, (i) => column[i]!);
  return { t: pick(samples.t), x: pick(samples.x), y: pick(samples.y), z: pick(samples.z) };
}

/** Where the command is on its waveform: instant of phase 0, of the last sample on it, and cycles left out before it. */
function extent(
  samples: CommandSamples,
  stretch: MovingStretch,
  wave: Waveform,
): { start: number; end: number; ramp: number } {
  const amplitude = Math.SQRT2 * wave.spread;
  const tolerance = Math.max(5e-4, 0.03 * amplitude);
  const away = (i: number, t: number): number => {
    const p = waveformAt(wave, t);
    return Math.hypot(samples.x[i]! - p[0], samples.y[i]! - p[1], samples.z[i]! - p[2]);
  };
  // outwards from the middle of what was fitted: a motion that still grows crosses its waveform, but does not stay on it
  let first = stretch.from + 1;
  while (first < stretch.to && samples.t[first]! < 0.5 * (wave.start + wave.end)) first++;
  let last = first;
  while (first > stretch.from + 1 && !(away(first - 1, samples.t[first - 1]!) > tolerance)) first--;
  while (last < stretch.to && !(away(last + 1, samples.t[last + 1]!) > tolerance)) last++;
  const end = samples.t[last]!;
  const onset = startOfMotion(samples, stretch, wave, away);
  if (first === stretch.from + 1) return { start: onset ?? samples.t[first]!, end, ramp: 0 };
  const joined = samples.t[first]!;
  const factors = rampFactors(samples, stretch.from + 1, first, wave);
  if (factors === null) return { start: joined, end, ramp: 0 };
  const begin = onset ?? startOfRamp(samples, stretch, factors);
  // a ramp that reaches its last 3 % shortly after a whole cycle ended there, as far as anyone can tell
  const ramp = Math.ceil((joined - begin) / wave.period - 0.02);
  return { start: begin + ramp * wave.period, end, ramp };
}

/** The instant at which the waveform passes the resting position, near the first step; null where it does not. */
function startOfMotion(
  samples: CommandSamples,
  stretch: MovingStretch,
  wave: Waveform,
  away: (i: number, t: number) => number,
): number | null {
  const atRest = stretch.from;
  const moved = samples.t[atRest + 1]!;
  const step = moved - samples.t[atRest]!;
  const from = samples.t[atRest]! - 0.5 * step;
  // a first step too small to count was rest to the eye, but is on the waveform's other side: compare with the one before
  const still = atRest > 0 && Number.isFinite(samples.x[atRest - 1]!) ? atRest - 1 : atRest;
  let best = moved;
  let least = Number.POSITIVE_INFINITY;
  const points = 400;
  for (let k = 0; k <= points; k++) {
    const t = from + ((moved - from) * k) / points;
    const distance = away(still, t);
    if (distance < least) {
      least = distance;
      best = t;
    }
  }
  return least < Math.max(5e-4, 0.03 * Math.SQRT2 * wave.spread) ? best : null;
}

interface RampFactor {
  readonly t: number;
  readonly factor: number;
}

/** The factors by which the samples before the full amplitude are the same waveform; null where none grows from 0 to 1. */
function rampFactors(samples: CommandSamples, from: number, to: number, wave: Waveform): RampFactor[] | null {
  const amplitude = Math.SQRT2 * wave.spread;
  const factors: RampFactor[] = [];
  let aside = 0;
  for (let i = from; i < to; i++) {
    const p = waveformAt(wave, samples.t[i]!);
    const f = [p[0] - wave.centre[0], p[1] - wave.centre[1], p[2] - wave.centre[2]];
    const c = [samples.x[i]! - wave.centre[0], samples.y[i]! - wave.centre[1], samples.z[i]! - wave.centre[2]];
    const size = Math.hypot(f[0]!, f[1]!, f[2]!);
    if (size < 0.3 * amplitude) continue;
    const factor = (f[0]! * c[0]! + f[1]! * c[1]! + f[2]! * c[2]!) / (size * size);
    const across = Math.hypot(c[0]! - factor * f[0]!, c[1]! - factor * f[1]!, c[2]! - factor * f[2]!);
    if (across > 0.1 * amplitude || factor < -0.1 || factor > 1.1) aside++;
    factors.push({ t: samples.t[i]!, factor });
  }
  if (factors.length < 4 || aside > 0.1 * factors.length) return null;
  const half = factors.length >> 1;
  const mean = (part: typeof factors): number => part.reduce((sum, { factor }) => sum + factor, 0) / part.length;
  return mean(factors.slice(half)) > mean(factors.slice(0, half)) + 0.1 ? factors : null;
}

/**
 * Where a ramp begins that starts at the centre of its path: its factors carried back to 0 along a straight line, between
 * the last sample at rest and the first that moved.
 */
function startOfRamp(samples: CommandSamples, stretch: MovingStretch, factors: readonly RampFactor[]): number {
  const early = factors.slice(0, Math.max(4, factors.length >> 1));
  const line = fitLine(
    Float64Array.from(early, ({ factor }) => factor),
    Float64Array.from(early, ({ t }) => t - early[0]!.t),
  );
  const crossing = early[0]!.t + line.intercept;
  return Math.min(samples.t[stretch.from + 1]!, Math.max(samples.t[stretch.from]!, crossing));
}

function phaseUnknown(from: number): Check {
  return {
    code: "few-cycles",
    severity: "doubt",
    message:
      "the command moves from its first message on: where its cycle begins is not in the log, and phase 0 was put there",
    evidence: { first_message_s: from },
    hint: "start the recording before the cycles; phases of this run's synchronous error cannot be compared with those of others",
  };
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

function notCyclic(
  shape: string,
  period: number,
  samples: CommandSamples,
  stretch: MovingStretch,
  wave: Waveform | null,
): Check {
  const moving = samples.t[stretch.to]! - samples.t[stretch.from]!;
  const actual = moving > 2 * period ? bestPeriod(samples, stretch, period) : null;
  const found =
    wave === null
      ? `it moves for only ${moving.toFixed(2)} s`
      : actual === null
        ? "it does not repeat with that period"
        : `it repeats every ${actual.toFixed(3)} s`;
  return {
    code: "wrong-trajectory",
    severity: "unusable",
    message: `declared as ${shape} with a period of ${period.toFixed(3)} s, but ${found}`,
    evidence: { declared: shape, declared_period_s: period, moving_s: moving, found_period_s: actual },
    hint: "check the trajectory of this run in the manifest: radius, speed, stroke and period as commanded",
  };
}

/** The period between a quarter and four times the declared one that repeats best; null where none does. */
function bestPeriod(samples: CommandSamples, stretch: MovingStretch, declared: number): number | null {
  const part = slice(samples, samples.t[stretch.from]!, samples.t[stretch.to]!);
  const length = part.t[part.t.length - 1]! - part.t[0]!;
  const shareAt = (period: number): number => {
    const wave = fitWaveform(part, period, 3);
    return wave === null ? 1 : wave.residual / wave.spread;
  };
  let guess = 0;
  let least = 0.3;
  for (let k = 0; k <= 160; k++) {
    const period = declared * 4 ** (k / 80 - 1);
    if (2 * period > length) break;
    const share = shareAt(period);
    if (share < least) {
      least = share;
      guess = period;
    }
  }
  if (guess === 0) return null;
  const refine = (period: number): number => refinePeriod(part, period, 0.02, 3);
  const found = refine(guess);
  // a multiple of a period repeats as well as the period itself
  for (const divisor of [4, 3, 2]) {
    const shorter = refine(found / divisor);
    if (shareAt(shorter) < Math.max(0.05, 1.5 * shareAt(found))) return shorter;
  }
  return found;
}

function checkResting(samples: CommandSamples, duration: number, within: Window): Check[] {
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

interface CycleCount {
  /** full cycles commanded, cycles of the ramp before them, full cycles inside the recording */
  readonly commanded: number;
  readonly ramp: number;
  readonly recorded: number;
  /** whether the recording, not the command, ended the cycles */
  readonly cutShort: boolean;
}

function checkCount(declared: Trajectory, count: CycleCount, settings: Settings): Check[] {
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
