import { expect, test } from "vitest";
import { stampFigures, topicTiming } from "../../../src/pipeline/inspect/topicTiming.ts";
import { onePerMessage } from "../../../src/pipeline/inspectLog.ts";

const epoch = 1_700_000_000_000_000_000n;
const times = (received: number[], stamped: number[] | null = null, stampEpoch = epoch) => ({
  received: { epoch, seconds: Float64Array.from(received) },
  stamped: stamped === null ? null : { epoch: stampEpoch, seconds: Float64Array.from(stamped) },
  zeroStamps: stamped?.filter(Number.isNaN).length ?? 0,
});

test("rate and gaps are by header stamps where all messages have one, else by receipt", () => {
  // stamps 1 s apart but for one of 3 s, more than 2.5 times the median; received in a burst
  const burst = times([10, 10.1, 10.2, 10.3, 10.4, 10.5], [0, 1, 2, 5, 6, 7]);
  expect(topicTiming(burst, epoch)).toMatchObject({ by: "header", median_interval: 1, gaps: 1, longest_gap: 3 });
  // the gap follows the third message, which was received at 10.2 s
  expect(topicTiming(burst, epoch)?.longest_gap_at).toBeCloseTo(10.2, 12);
  expect(topicTiming(burst, epoch - 5_000_000_000n)?.longest_gap_at).toBeCloseTo(15.2, 12);
  const zeros = times([0, 2, 4], [0, Number.NaN, 1]);
  expect(topicTiming(zeros, epoch)).toMatchObject({ by: "receipt", median_interval: 2, gaps: 0, longest_gap: null });
});

test("an interval of 2.5 medians is no gap, a longer one is", () => {
  // design, section 5: gap > 2.5 median intervals; powers of two are exact
  expect(topicTiming(times([0, 1, 2, 3, 5.5]), epoch)?.gaps).toBe(0);
  expect(topicTiming(times([0, 1, 2, 3, 5.515625]), epoch)?.gaps).toBe(1);
});

test("one message, or all at one instant, have no rate; no message has no timing", () => {
  expect(topicTiming(times([3]), epoch)).toMatchObject({ median_interval: null, gaps: 0 });
  expect(topicTiming(times([3, 3, 3]), epoch)).toMatchObject({ median_interval: null, gaps: 0 });
  expect(topicTiming(times([]), epoch)).toBeNull();
});

test("stamps against receipt: delay, faults, and the kind of time", () => {
  const found = stampFigures(times([1, 2, 3, 4, 5], [0.5, 1.5, 1.5, 1.25, 4.5]));
  // delays 0.5, 0.5, 1.5, 2.75, 0.5
  expect(found).toMatchObject({ zero: 0, duplicate: 1, backward: 1, delay_median: 0.5, epoch: "date" });
  const boot = stampFigures(times([1, 2], [100, 101], 0n));
  expect(boot?.epoch).toBe("since start");
  // 1 700 000 001 s minus 100 s, to the resolution of a double there
  expect(boot?.delay_median).toBeCloseTo(1_699_999_901, 5);
  expect(stampFigures(times([1, 2], [Number.NaN, Number.NaN]))).toMatchObject({
    zero: 2,
    epoch: null,
    delay_median: null,
  });
  expect(stampFigures(times([1, 2]))).toBeNull();
});

test("a delay that grows shows that the clocks run apart", () => {
  // 100 messages, the stamp's clock slow by 1 in 1000: first ten at 0..9 s, last ten at 90..99 s
  const received = Array.from({ length: 100 }, (_, i) => i);
  const found = stampFigures(
    times(
      received,
      received.map((time) => 0.999 * time),
    ),
  );
  // medians of the delays: 4.5 ms and 94.5 ms
  expect(found?.delay_growth).toBeCloseTo(0.09, 12);
});

test("the transforms of one message of a tree count once", () => {
  const tree = times([0, 0, 0, 1, 1, 1, 2, 2, 2], [0, 0, 0, 1, 1, 1, Number.NaN, 2, 2]);
  const thin = onePerMessage(tree);
  expect([...thin.received.seconds]).toEqual([0, 1, 2]);
  expect([...thin.stamped!.seconds]).toEqual([0, 1, Number.NaN]);
  expect(thin.zeroStamps).toBe(1);
  expect(stampFigures(thin)?.duplicate).toBe(0);
});
