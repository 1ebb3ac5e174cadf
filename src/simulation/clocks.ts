import type { StampColumn } from "../foundation/recording.ts";
import type { Nanoseconds, Seconds } from "../foundation/units.ts";
import type { SeededRandom } from "../numeric/seededRandom.ts";
import type { FlightSettings } from "./flightShape.ts";

/** Stamps of the onboard clock, which is the reference and runs true, to the nanosecond. */
export function onboardStamps(start: Nanoseconds, times: Float64Array): StampColumn {
  return { epoch: start, seconds: times.map(toNanosecond) };
}

/**
 * Stamps of the capture clock: at instant t (seconds after the recording's start, onboard clock) it shows
 * start + t + offset + skew t - boot. Whole seconds of the offset go into the epoch.
 */
export function captureStamps(settings: FlightSettings, times: Float64Array): StampColumn {
  const { offset, skew, boot } = settings.clock;
  const whole = Math.floor(offset);
  return {
    epoch: settings.start + BigInt(whole) * 1_000_000_000n - boot,
    seconds: times.map((t) => toNanosecond(t + (offset - whole) + skew * t)),
  };
}

/**
 * Receipt times on the onboard clock: instant + latency + an exponential jitter; a topic's messages keep their order,
 * as they do in one queue.
 */
export function receiptTimes(
  times: Float64Array,
  latency: Seconds,
  jitter: Seconds,
  random: SeededRandom,
): Float64Array {
  let latest = Number.NEGATIVE_INFINITY;
  return times.map((t) => {
    latest = Math.max(latest + 1e-6, t + latency - jitter * Math.log(1 - random.uniform()));
    return toNanosecond(latest);
  });
}

/** Instants of a periodic source over [0, end): k / rate after a random first one. */
export function samplingTimes(rate: number, end: Seconds, random: SeededRandom): Float64Array {
  const first = random.uniform() / rate;
  return Float64Array.from({ length: Math.max(0, Math.ceil((end - first) * rate)) }, (_, k) => first + k / rate);
}

function toNanosecond(seconds: number): number {
  return Math.round(seconds * 1e9) / 1e9;
}
