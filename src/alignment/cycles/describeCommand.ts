import { type CommandSamples, fitWaveform, refinePeriod, type Waveform } from "./waveform.ts";

/** Harmonics used to describe a command: enough for trapezoidal strokes. */
const commandHarmonics = 7;

/**
 * Waveform of the full-amplitude part of a motion. Where it begins and ends is not known yet: the motion may ramp in, or
 * travel to its path first. So the first 1.2 and the last 0.6 periods are left out, and where that does not repeat,
 * larger parts of the beginning or the end; what repeats best is taken.
 */
export function describeCommand(
  samples: CommandSamples,
  stretch: MovingStretch,
  guess: number,
  share: number,
): Waveform | null {
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
  // what is measured has noise, which the shorter parts fit better and whose period they show worse
  const enough = samples.phaseOnly === true ? 0.05 : 0.02;
  let best: Waveform | null = null;
  for (const [from, to] of parts) {
    const wave = fitPart(samples, from, to, guess, share);
    if (wave !== null && (best === null || wave.residual / wave.spread < best.residual / best.spread)) best = wave;
    if (best !== null && best.residual < enough * best.spread) break;
  }
  return best;
}

function fitPart(samples: CommandSamples, from: number, to: number, guess: number, share: number): Waveform | null {
  if (to - from < 0.95 * guess) return null;
  const part = sliceSamples(samples, from, to);
  const perPeriod = (part.t.length * guess) / (to - from);
  const harmonics = Math.max(1, Math.min(commandHarmonics, Math.floor(perPeriod / 4)));
  const period = to - from >= 1.5 * guess ? refinePeriod(part, guess, share, harmonics) : guess;
  return fitWaveform(part, period, harmonics);
}

/** The commanded samples between two instants; those in which nothing was commanded (NaN) are left out. */
export function sliceSamples(samples: CommandSamples, from: number, to: number): CommandSamples {
  let a = 0;
  while (a < samples.t.length && samples.t[a]! < from) a++;
  let b = samples.t.length;
  while (b > a && samples.t[b - 1]! > to) b--;
  const rows: number[] = [];
  for (let i = a; i < b; i++) if (Number.isFinite(samples.x[i]! + samples.y[i]! + samples.z[i]!)) rows.push(i);
  const pick = (column: Float64Array): Float64Array => Float64Array.from(rows, (i) => column[i]!);
  return { t: pick(samples.t), x: pick(samples.x), y: pick(samples.y), z: pick(samples.z) };
}

/** A stretch of samples in which the command moves: `from` is the last sample at rest before it, `to` the last that moved. */
export interface MovingStretch {
  readonly from: number;
  readonly to: number;
}

/** Steps smaller than this are rest, metres. */
const rest = 1e-6;

/**
 * Stretches in which a command moves; rests no longer than `pause` seconds belong to the motion, and so do stretches in
 * which nothing is known of the command (NaN): it may well have moved on.
 *
 * @returns in order of time; empty where the command rests throughout
 */
export function movingStretches(samples: CommandSamples, pause: number): MovingStretch[] {
  const found: { from: number; to: number }[] = [];
  const { x, y, z } = samples;
  let resting = 0;
  for (let i = 1; i < samples.t.length; i++) {
    const dx = x[i]! - x[i - 1]!;
    const dy = y[i]! - y[i - 1]!;
    const dz = z[i]! - z[i - 1]!;
    const step = Math.sqrt(dx * dx + dy * dy + dz * dz);
    if (!(step > rest)) {
      if (!Number.isNaN(step)) resting += samples.t[i]! - samples.t[i - 1]!;
      continue;
    }
    const last = found.at(-1);
    if (last && resting <= pause) last.to = i;
    else found.push({ from: i - 1, to: i });
    resting = 0;
  }
  return found;
}
