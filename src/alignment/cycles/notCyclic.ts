import type { Check } from "../../foundation/checks.ts";
import { describeCommand, type MovingStretch, sliceSamples } from "./describeCommand.ts";
import { type CommandSamples, refinePeriod, unexplainedShare, type Waveform } from "./waveform.ts";

/** A command that moves, but does not repeat with its declared period; names the period it has. */
export function notCyclic(
  shape: string,
  period: number,
  samples: CommandSamples,
  stretch: MovingStretch,
  wave: Waveform | null,
): Check {
  const moving = movingSeconds(samples, stretch);
  const actual = moving > 2 * period ? bestPeriod(samples, stretch, period) : null;
  return refused(shape, period, moving, wave, actual);
}

/** The share of its declared period within which a logged command's own is looked for. */
export const nearPeriod = 0.02;

/**
 * A logged command that repeats, but with another period than the declared one; null where it repeats with none.
 *
 * @param wave  the best within `nearPeriod` of the declared period
 */
export function otherPeriod(
  shape: string,
  period: number,
  samples: CommandSamples,
  stretch: MovingStretch,
  wave: Waveform,
): Check | null {
  const moving = movingSeconds(samples, stretch);
  if (moving <= 2 * period) return null;
  const cyclic = wave.residual < 0.1 * wave.spread;
  // one that repeats, but best at the edge of what was searched, would repeat better beyond it
  if (cyclic && Math.abs(wave.period / period - 1) < 0.98 * nearPeriod) return null;
  const beyond = beyondEdge(samples, stretch, period, wave);
  if (beyond !== null) return refused(shape, period, moving, wave, beyond);
  const actual = cyclic ? null : bestPeriod(samples, stretch, period);
  if (actual === null || Math.abs(actual / period - 1) <= nearPeriod) return null;
  const part = sliceSamples(samples, samples.t[stretch.from]!, samples.t[stretch.to]!);
  // clearly, over all of the motion: a logged trajectory need not repeat at all
  return unexplainedShare(part, actual, 5) < 0.1 ? refused(shape, period, moving, wave, actual) : null;
}

/** The period just beyond `nearPeriod` with which a command repeats clearly, over two periods at least; null where none does. */
function beyondEdge(
  samples: CommandSamples,
  stretch: MovingStretch,
  period: number,
  { residual, spread }: Waveform,
): number | null {
  const wide = describeCommand(samples, stretch, period, 4 * nearPeriod);
  if (wide === null || wide.end - wide.start < 2 * wide.period) return null;
  const share = wide.residual / wide.spread;
  const better = share < 0.1 && share < (0.5 * residual) / spread;
  return better && Math.abs(wide.period / period - 1) > nearPeriod ? wide.period : null;
}

const movingSeconds = (samples: CommandSamples, { from, to }: MovingStretch): number =>
  samples.t[to]! - samples.t[from]!;

function refused(shape: string, period: number, moving: number, wave: Waveform | null, actual: number | null): Check {
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

/** Whether samples repeat with a period to within 2 %, and with none of its parts. */
export function repeatsWith(samples: CommandSamples, stretch: MovingStretch, period: number): boolean {
  const part = sliceSamples(samples, samples.t[stretch.from]!, samples.t[stretch.to]!);
  if (2 * period > part.t.at(-1)! - part.t[0]!) return false;
  const found = refinePeriod(part, period, 0.02, 3);
  const share = unexplainedShare(part, found, 3);
  const least = Math.max(0.05, 1.5 * share);
  return share < 0.05 && [2, 3, 4].every((divisor) => unexplainedShare(part, found / divisor, 3) >= least);
}

/** The period between a quarter and four times a guess that repeats best; null where none does. */
export function bestPeriod(samples: CommandSamples, stretch: MovingStretch, declared: number): number | null {
  const part = sliceSamples(samples, samples.t[stretch.from]!, samples.t[stretch.to]!);
  const length = part.t[part.t.length - 1]! - part.t[0]!;
  const shareAt = (period: number): number => unexplainedShare(part, period, 3);
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
