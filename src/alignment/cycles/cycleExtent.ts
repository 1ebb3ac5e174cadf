import { brentMinimum } from "../../numeric/brentMinimum.ts";
import { fitLine } from "../../numeric/leastSquares.ts";
import type { MovingStretch } from "./describeCommand.ts";
import { type CommandSamples, type Waveform, waveformAt } from "./waveform.ts";

/** Where the command is on its waveform: instant of phase 0, of the last sample on it, and cycles left out before it. */
export function cycleExtent(
  samples: CommandSamples,
  stretch: MovingStretch,
  wave: Waveform,
): { start: number; end: number; ramp: number } {
  const amplitude = Math.SQRT2 * wave.spread;
  // what is measured has noise
  const noise = samples.phaseOnly === true ? 4 * wave.residual : 0;
  const tolerance = Math.max(5e-4, 0.03 * amplitude, noise);
  const away = (i: number, t: number): number => {
    const p = waveformAt(wave, t);
    return Math.sqrt((samples.x[i]! - p[0]) ** 2 + (samples.y[i]! - p[1]) ** 2 + (samples.z[i]! - p[2]) ** 2);
  };
  // outwards from the middle of what was fitted: a motion that still grows crosses its waveform, but does not stay on it
  let first = stretch.from + 1;
  while (first < stretch.to && samples.t[first]! < 0.5 * (wave.start + wave.end)) first++;
  let last = first;
  while (first > stretch.from + 1 && !(away(first - 1, samples.t[first - 1]!) > tolerance)) first--;
  while (last < stretch.to && !(away(last + 1, samples.t[last + 1]!) > tolerance)) last++;
  const end = samples.t[last]!;
  const onset = startOfMotion(samples, stretch, wave, away, tolerance);
  if (first === stretch.from + 1) return { start: onset ?? samples.t[first]!, end, ramp: 0 };
  const joined = samples.t[first]!;
  const factors = rampFactors(samples, stretch.from + 1, first, wave);
  if (factors === null) return { start: joined, end, ramp: 0 };
  const begin =
    startOfSwing(samples, stretch, wave.period, away, tolerance) ?? onset ?? startOfRamp(samples, stretch, factors);
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
  tolerance: number,
): number | null {
  const atRest = stretch.from;
  const moved = samples.t[atRest + 1]!;
  const step = moved - samples.t[atRest]!;
  // a first step too small to count was rest to the eye, but is on the waveform's other side: compare with the one before
  const still = atRest > 0 && Number.isFinite(samples.x[atRest - 1]!) ? atRest - 1 : atRest;
  const since = samples.phaseOnly === true ? moved - unseen * wave.period : samples.t[atRest]! - 0.5 * step;
  return passage((t) => away(still, t), [Math.min(since, samples.t[atRest]! - 0.5 * step), moved], tolerance);
}

/** How long before the first step that is seen a ramp may have begun, periods: one that grows with the cube of time is slow to show. */
const unseen = 0.15;

/**
 * Where a ramp that starts in the middle of its swing begins: the instant at which the waveform itself passes there, shortly
 * before the first sample that moved. Which sample that is depends on how they fall, the waveform's passage does not. Null where
 * it does not pass there: a circle about the resting position.
 */
function startOfSwing(
  samples: CommandSamples,
  stretch: MovingStretch,
  period: number,
  away: (i: number, t: number) => number,
  tolerance: number,
): number | null {
  const [atRest, moved] = [samples.t[stretch.from]!, samples.t[stretch.from + 1]!];
  return passage((t) => away(stretch.from, t), [Math.min(atRest, moved - unseen * period), moved], tolerance);
}

/** The instant of the least distance between two instants; null where it is not within the tolerance, metres. */
function passage(
  distance: (t: number) => number,
  [from, to]: readonly [number, number],
  tolerance: number,
): number | null {
  const step = (to - from) / 40;
  let best = 0;
  for (let k = 1; k <= 40; k++) if (distance(from + k * step) < distance(from + best * step)) best = k;
  const low = from + Math.max(0, best - 1) * step;
  const high = from + Math.min(40, best + 1) * step;
  const at = brentMinimum((t) => distance(t) ** 2, low, high, 1e-5);
  return distance(at) < tolerance ? at : null;
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
