import { describe, expect, test } from "vitest";
import { receiptGaps, receiptInterval } from "../../src/alignment/receiptGaps.ts";
import { prepareSignal } from "../../src/alignment/timedSignals.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { receiptTimes } from "../../src/simulation/timeline.ts";
import { campaign, noisyFlight, oneRun, poseSignal, source, stamps } from "./signals.ts";

type Lost = readonly (readonly [from: number, seconds: number])[];
/** at 100 Hz 25 messages */
const some: Lost = [
  [8, 0.15],
  [20, 0.1],
];

const isLost = (t: number, lost: Lost): boolean => lost.some(([from, seconds]) => t >= from && t < from + seconds);

/** Receipts of a source at `rate` for 30 s through a queue of exponential delays; what is lost was never sent on. */
function receipts(seed: number, rate: number, jitter: number, lost: Lost = []): Float64Array {
  const sent = Float64Array.from({ length: 30 * rate }, (_, k) => k / rate).filter((t) => !isLost(t, lost));
  return receiptTimes(sent, 0.006, jitter, seededRandom(seed));
}

function missing(t: Float64Array): number {
  const interval = receiptInterval(t);
  return receiptGaps(t, interval, defaultSettings.gap_intervals * interval).reduce((sum, gap) => sum + gap.missing, 0);
}

describe("a stream that is placed by receipt", () => {
  test.each([50, 100, 240])("has its sender's interval, however its messages bunch (%i Hz)", (rate) => {
    // spans of five seconds whose ends scatter by 40 to 60 ms each: each span to 1.6 %, their median to less
    expect(Math.abs(receiptInterval(receipts(1, rate, 0.04)) * rate - 1)).toBeLessThan(0.016);
  });

  test.each([0.0008, 0.01, 0.04])("misses nothing where nothing was lost (delays of %f s)", (jitter) => {
    for (let seed = 1; seed <= 10; seed++) expect(missing(receipts(seed, 100, jitter))).toBe(0);
  });

  test.each([
    [0.0008, 25, 25],
    [0.01, 24, 26],
    // delays of 40 ms in a queue keep the least of a second unknown by some 20 ms, and hide a loss of that much
    [0.04, 10, 32],
  ])("misses what was lost, and no more (delays of %f s)", (jitter, least, most) => {
    for (let seed = 1; seed <= 10; seed++) {
      const found = missing(receipts(seed, 100, jitter, some));
      expect(found).toBeGreaterThanOrEqual(least);
      expect(found).toBeLessThanOrEqual(most);
    }
  });

  test("says so of a capture with `stamp: log`, and goes by the interval of the sender", () => {
    const whole = poseSignal("vehicle_pose", noisyFlight(3, 100, 30));
    const kept = [...whole.stamped!.seconds.keys()].filter((i) => !isLost(whole.stamped!.seconds[i]!, some));
    const pick = (column: Float64Array): Float64Array => Float64Array.from(kept, (i) => column[i]!);
    const signal = {
      ...whole,
      stamped: null,
      received: stamps(receiptTimes(pick(whole.stamped!.seconds), 0.006, 0.04, seededRandom(4))),
      columns: Object.fromEntries(Object.entries(whole.columns).map(([name, column]) => [name, pick(column)])),
    };
    const declared = campaign({ signals: { vehicle_pose: source({ stamp: "log" }) } });
    const { faults, interval } = prepareSignal(declared, oneRun, signal, defaultSettings);
    const gap = faults.find(({ code }) => code === "gap")!;
    expect(gap.samples).toBeGreaterThanOrEqual(10);
    expect(gap.samples).toBeLessThanOrEqual(32);
    expect(Math.abs(interval - 0.01)).toBeLessThan(1.6e-4);
  });
});
