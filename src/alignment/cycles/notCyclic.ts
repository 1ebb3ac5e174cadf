import type { Check } from "../../foundation/checks.ts";
import { sliceSamples } from "./describeCommand.ts";
import type { MovingStretch } from "./movingStretch.ts";
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

/** A logged command that repeats, but with another period than the declared one; null where it repeats with none. */
export function otherPeriod(
  shape: string,
  period: number,
  samples: CommandSamples,
  stretch: MovingStretch,
  wave: Waveform,
  tolerance: number,
): Check | null {
  const moving = movingSeconds(samples, stretch);
  const actual = moving > 2 * period ? bestPeriod(samples, stretch, period) : null;
  if (actual === null || Math.abs(actual / period - 1) <= tolerance) return null;
  const part = sliceSamples(samples, samples.t[stretch.from]!, samples.t[stretch.to]!);
  // clearly, over all of the motion: a logged trajectory need not repeat at all
  return unexplainedShare(part, actual, 5) < 0.1 ? refused(shape, period, moving, wave, actual) : null;
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
