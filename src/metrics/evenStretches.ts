import type { Seconds } from "../foundation/units.ts";

/** Equally spaced, gap-free parts of several series that were sampled at the same instants. */
export interface EvenStretches {
  /** mean interval between neighbours, seconds */
  readonly interval: Seconds;
  /** of each stretch the columns, in the order of the series given */
  readonly stretches: readonly (readonly Float64Array[])[];
}

/**
 * Splits series at their gaps into stretches of equal spacing, for what needs neighbours to be equally far apart.
 *
 * Where every step of a stretch is within half an interval of the usual one, the samples themselves are handed on (views,
 * no copies): stamps jitter more than cameras do. Where single samples are missing, which is no gap yet, the stretch is
 * brought to equal spacing along straight lines; nothing crosses a gap.
 *
 * @param t       n instants, seconds, increasing
 * @param series  columns of n values, no NaN
 * @param options.interval      median interval, seconds
 * @param options.gapIntervals  a step longer than this many median intervals is a gap
 */
export function evenStretches(
  t: Float64Array,
  series: readonly Float64Array[],
  options: { interval: Seconds; gapIntervals: number },
): EvenStretches {
  const usual = options.interval;
  const longest = options.gapIntervals * usual;
  let sum = 0;
  let count = 0;
  for (let i = 1; i < t.length; i++) {
    const step = t[i]! - t[i - 1]!;
    if (step > 1.5 * usual) continue;
    sum += step;
    count++;
  }
  const interval = count === 0 ? usual : sum / count;
  const stretches: (readonly Float64Array[])[] = [];
  let from = 0;
  let even = true;
  for (let i = 1; i <= t.length; i++) {
    const step = i < t.length ? t[i]! - t[i - 1]! : Number.POSITIVE_INFINITY;
    if (step <= longest) {
      if (step < 0.5 * usual || step > 1.5 * usual) even = false;
      continue;
    }
    if (i - from > 1) {
      stretches.push(
        series.map((column) =>
          even ? column.subarray(from, i) : respaced(t.subarray(from, i), column.subarray(from, i), interval),
        ),
      );
    }
    from = i;
    even = true;
  }
  return { interval, stretches };
}

/** Values at equal steps from the first instant on, along straight lines between the samples. */
function respaced(t: Float64Array, values: Float64Array, interval: Seconds): Float64Array {
  const last = t.length - 1;
  const out = new Float64Array(Math.floor((t[last]! - t[0]!) / interval + 1e-9) + 1);
  let k = 0;
  for (let i = 0; i < out.length; i++) {
    const at = t[0]! + i * interval;
    while (k < last - 1 && t[k + 1]! <= at) k++;
    const part = Math.min(1, (at - t[k]!) / (t[k + 1]! - t[k]!));
    out[i] = values[k]! + part * (values[k + 1]! - values[k]!);
  }
  return out;
}
