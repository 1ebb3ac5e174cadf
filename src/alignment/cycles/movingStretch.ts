import type { CommandSamples } from "./waveform.ts";

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
