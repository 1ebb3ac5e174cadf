import { brentMinimum } from "../../numeric/brentMinimum.ts";
import { quantile, sampleStandardDeviation } from "../../numeric/descriptive.ts";
import type { CommandSamples } from "../cycles/waveform.ts";
import { samplePoints } from "../sampleTrack.ts";

/** How one run's command lies on another's. */
export interface Match {
  /** seconds to add to an instant of the one command for the same place in the other */
  readonly shift: number;
  /** how far apart they are then, as a share of the command's spread: the 80th percentile, so that take-offs may differ */
  readonly apart: number;
}

/** Farther apart than this share of the spread is elsewhere, however far. */
const elsewhere = 0.25;

/**
 * Lays one command over another in time: the shift at which the paths are nearest to each other, mean distance, what lies beyond
 * the other's ends counted as elsewhere. Both start and end as their recordings do, so neither end tells.
 *
 * @param one    evenly sampled, seconds and metres
 * @param other  likewise; any other step
 * @remarks cost: samples of `one` times steps of the search; good to a millisecond where the command moves
 */
export function matchCommands(one: CommandSamples, other: CommandSamples): Match {
  const spread = Math.hypot(...[one.x, one.y, one.z].map(deviation));
  if (!(spread > 0) || other.t.length < 2) return { shift: 0, apart: Number.POSITIVE_INFINITY };
  const limit = elsewhere * spread;
  const distances = (shift: number): Float64Array => {
    const at = samplePoints(other, one.t, shift);
    return at.x.map((x, i) =>
      Math.sqrt((x - one.x[i]!) ** 2 + (at.y[i]! - one.y[i]!) ** 2 + (at.z[i]! - one.z[i]!) ** 2),
    );
  };
  const cost = (shift: number): number =>
    distances(shift).reduce((sum, distance) => sum + (Number.isNaN(distance) ? limit : Math.min(distance, limit)), 0);
  // half of the one must be met at all
  const middle = one.t[one.t.length >> 1]!;
  const [first, last] = [other.t[0]! - middle, other.t[other.t.length - 1]! - middle];
  const step = Math.min(one.t[1]! - one.t[0]!, other.t[1]! - other.t[0]!);
  let best = first;
  let least = Number.POSITIVE_INFINITY;
  for (let shift = first; shift <= last; shift += step) {
    const value = cost(shift);
    if (value < least) {
      least = value;
      best = shift;
    }
  }
  const shift = brentMinimum(cost, best - step, best + step, 1e-3);
  const met = distances(shift).filter((distance) => !Number.isNaN(distance));
  const apart = 2 * met.length < one.t.length ? Number.POSITIVE_INFINITY : quantile(met, 0.8) / spread;
  return { shift, apart };
}

/** 0 where hardly anything was commanded. */
function deviation(column: Float64Array): number {
  const known = column.filter((value) => !Number.isNaN(value));
  return known.length < 10 ? 0 : sampleStandardDeviation(known);
}
