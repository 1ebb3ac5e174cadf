import type { Campaign } from "../../contract/campaign.ts";
import { weightsOf } from "../../contract/ledger.ts";
import type { MovingEffect } from "../../contract/reasons.ts";

/** More than this share of what is fitted is no adjustment any more. */
const worthFitting = 0.5;
/** Weights of which a gram takes away less than this many grams hardly act along the axis. */
const hardlyActs = 0.3;

/**
 * What the candidate's weights still leave along an axis, and by how much the same weights, at the same places, would have to
 * be heavier: its apparent mass over what a gram of weight takes away. That is known from the declared travel; else from the
 * flights: the difference to the baseline over the weights' mass.
 *
 * @returns null where the candidate has no counterweights, or was not flown
 */
export function remainingWeight(
  { baseline, candidate, configurations: declared }: Campaign,
  { axis, harmonic, unit, configurations, contrasts }: Omit<MovingEffect, "remaining" | "budget">,
): MovingEffect["remaining"] {
  const own = configurations[candidate];
  const contrast = contrasts[candidate];
  const weights = declared[candidate]?.counterweights ?? [];
  const fitted = weights.length === 0 ? 0 : weightsOf(declared[candidate]!);
  if (own === undefined || contrast === undefined || unit !== "kg" || !(fitted > 0) || harmonic !== 1) return null;
  if ((declared[baseline]?.counterweights.length ?? 0) > 0) return null;
  const place = axis === "x" ? 0 : 1;
  const known = weights.every(({ travel }) => travel !== undefined);
  const perWeight = known
    ? -weights.reduce((sum, { mass, travel }) => sum + mass * travel![place], 0) / fitted
    : -contrast.difference.value / fitted;
  const perWeightRange: [number, number] | null = known
    ? [perWeight, perWeight]
    : contrast.difference.ci95 && [-contrast.difference.ci95[1] / fitted, -contrast.difference.ci95[0] / fitted];
  const more = perWeight === 0 ? null : own.mean / perWeight;
  const range = known ? over(own.ci95, perWeight) : fromRatio(contrast.ratio.ci95, fitted);
  const clear = perWeightRange !== null && perWeightRange[0] * perWeightRange[1] > 0;
  const why =
    !clear || perWeight <= 0 || more === null
      ? "these weights are not seen to take anything away along it"
      : whyNot(more / fitted, perWeight, range);
  // a gram further out takes away in proportion to its distance from its pivot
  const perMetre = known
    ? weights.reduce((sum, { mass, travel, lever }) => sum - (mass * travel![place]) / (lever ?? Number.NaN), 0)
    : Number.NaN;
  const further = why === null && perMetre > 0;
  return {
    value: own.mean,
    ci95: own.ci95,
    per_weight: perWeight,
    per_weight_ci95: perWeightRange,
    source: known ? "declared" : "flown",
    fitted,
    more: why === null ? more : null,
    more_ci95: why === null ? range : null,
    further: further ? own.mean / perMetre : null,
    further_ci95: further ? over(own.ci95, perMetre) : null,
    why_not: why,
  };
}

/** Why a weight is no adjustment; null where it is one. */
function whyNot(share: number, perWeight: number, range: readonly [number, number] | null): string | null {
  if (Math.abs(share) > worthFitting)
    return perWeight < hardlyActs
      ? "these weights hardly act along this axis, and nothing is worth bolting on for it"
      : "that would take more than half of the weight fitted on top, so no change is suggested";
  return range === null ? "the flights set no limits to it" : null;
}

function over(interval: readonly [number, number] | null, by: number): [number, number] | null {
  if (interval === null || by === 0) return null;
  const [a, b] = [interval[0] / by, interval[1] / by];
  return [Math.min(a, b), Math.max(a, b)];
}

/** With the influence from the flights too, more = fitted rho / (1 - rho), rho the balance ratio: it grows with rho below 1. */
function fromRatio(interval: readonly (number | null)[] | null, fitted: number): [number, number] | null {
  if (interval === null) return null;
  const [low, high] = interval;
  if (low == null || high == null || high >= 1) return null;
  return [(fitted * low) / (1 - low), (fitted * high) / (1 - high)];
}
