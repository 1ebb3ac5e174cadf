import fc from "fast-check";
import { expect, test } from "vitest";
import { buildTimeline, isDate } from "../../src/alignment/stamps.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { evenTimes, signal, someDate, stamps } from "./signals.ts";

const build = (recorded: ReturnType<typeof signal>, rule: "header" | "log" = "header") =>
  buildTimeline(recorded, rule, defaultSettings);
const codes = (checks: readonly { code: string }[]): string[] => checks.map(({ code }) => code);

test("clean header stamps pass as they are, without a check", () => {
  const { timeline, checks } = build(signal({ at: [0, 0.01, 0.02] }));
  expect([...timeline.t]).toEqual([0, 0.01, 0.02]);
  expect([...timeline.order]).toEqual([0, 1, 2]);
  expect(timeline.source).toBe("header");
  expect(timeline.epoch).toBe(someDate);
  // received 2 ms after each stamp
  expect(timeline.stampMinusReceipt).toBeCloseTo(-0.002, 12);
  expect(checks).toEqual([]);
});

test("a type without header falls back to the receipt, as a note", () => {
  const { timeline, checks } = build(signal({ stamped: null, type: "geometry_msgs/Pose" }));
  expect(timeline.source).toBe("log");
  expect([...timeline.t]).toEqual([0.002, 1.002, 2.002]);
  expect(checks).toMatchObject([{ code: "stamp-log-used", severity: "note" }]);
  expect(timeline.stampMinusReceipt).toBeNaN();
});

test("a zero stamp among hundreds costs its message, not the stamps of all", () => {
  const seconds = Array.from({ length: 400 }, (_, i) => (i === 137 || i === 250 ? Number.NaN : 0.01 * i));
  const { timeline, checks } = build(signal({ at: evenTimes(100, 4), stamped: stamps(seconds), zeroStamps: 2 }));
  expect(timeline.source).toBe("header");
  expect(timeline.t).toHaveLength(398);
  expect([...timeline.order]).not.toContain(137);
  expect(timeline.t[200]).toBe(seconds[201]);
  expect(timeline.stampMinusReceipt).toBeCloseTo(-0.002, 12);
  expect(checks).toMatchObject([{ code: "stamp-epoch", severity: "note", evidence: { zero: 2, messages: 400 } }]);
});

test("zero stamps make the receipt serve for all messages, and that is a doubt that counts them", () => {
  const { timeline, checks } = build(signal({ stamped: stamps([0, Number.NaN, 2]), zeroStamps: 1 }));
  expect(timeline.source).toBe("log");
  expect([...timeline.t]).toEqual([0.002, 1.002, 2.002]);
  expect(checks).toMatchObject([
    {
      code: "stamp-log-used",
      severity: "doubt",
      evidence: { zero: 1, messages: 3 },
      message: expect.stringContaining("1 of 3"),
    },
  ]);
});

test("`stamp: log` takes the receipt and says nothing, for it was asked for", () => {
  const { timeline, checks } = build(signal(), "log");
  expect(timeline.source).toBe("log");
  expect(timeline.t[0]).toBe(0.002);
  expect(checks).toEqual([]);
});

test("an empty signal gives an empty timeline and no check", () => {
  const { timeline, checks } = build(signal({ at: [] }));
  expect(timeline.t.length).toBe(0);
  expect(timeline.order.length).toBe(0);
  expect(checks).toEqual([]);
});

test("stamps that count from a boot are kept and named", () => {
  const recorded = signal({ at: [12.5, 12.6, 12.7], epoch: 0n, received: stamps([0, 0.1, 0.2]) });
  const { timeline, checks } = build(recorded);
  expect(timeline.t.length).toBe(3);
  // exact: 12.5 s - 1760432400 s
  expect(timeline.stampMinusReceipt).toBeCloseTo(12.5 - 1_760_432_400, 6);
  expect(checks).toMatchObject([{ code: "stamp-epoch", severity: "doubt" }]);
  expect(checks[0]!.hint).toContain("give this signal a clock of its own");
  // the manifest has given it one: there is nothing left to give
  const declared = buildTimeline(recorded, "header", defaultSettings, true).checks;
  expect(declared).toMatchObject([{ code: "stamp-epoch", severity: "note" }]);
  expect(declared[0]!.hint).not.toContain("give this signal");
});

test("a day apart is not yet another epoch, two days are", () => {
  const shifted = (days: number) =>
    signal({ epoch: someDate, received: stamps([0, 1, 2].map((t) => t - days * 86_400)) });
  expect(codes(build(shifted(0.9)).checks)).toEqual([]);
  expect(codes(build(shifted(2)).checks)).toEqual(["stamp-epoch"]);
});

test("a few stamps from another epoch are dropped and counted, the rest keep their order", () => {
  const at = evenTimes(100, 1);
  const stamped = at.map((t, i) => (i === 30 || i === 60 ? t + 3600 : t));
  const recorded = signal({ stamped: stamps(stamped), received: stamps(at.map((t) => t + 0.002)) });
  const { timeline, checks } = build(recorded);
  expect(timeline.t.length).toBe(98);
  expect([...timeline.order]).not.toContain(30);
  expect([...timeline.order]).not.toContain(60);
  expect(checks).toMatchObject([{ code: "stamp-epoch", severity: "doubt", evidence: { dropped: 2, messages: 100 } }]);
});

test("a first message from before the recording is dropped as a note: a recorder that starts writes the last value there was", () => {
  const at = evenTimes(100, 1);
  const stamped = at.map((t, i) => (i === 0 ? t - 3600 : t));
  const { timeline, checks } = build(signal({ stamped: stamps(stamped), received: stamps(at) }));
  expect(timeline.t.length).toBe(99);
  expect(checks).toMatchObject([{ code: "stamp-epoch", severity: "note", evidence: { dropped: 1, messages: 100 } }]);
});

test("where more than a tenth of the stamps lie in another epoch the signal is unusable", () => {
  const at = evenTimes(100, 1);
  const stamped = at.map((t, i) => (i < 15 ? t - 1e6 : t));
  const { timeline, checks } = build(signal({ stamped: stamps(stamped), received: stamps(at) }));
  expect(timeline.t.length).toBe(85);
  expect(checks[0]).toMatchObject({ code: "stamp-epoch", severity: "unusable", evidence: { dropped: 15 } });
});

test("of messages with equal stamps the first stays", () => {
  const { timeline, checks } = build(signal({ at: [0, 1, 1, 1, 2] }));
  expect([...timeline.t]).toEqual([0, 1, 2]);
  expect([...timeline.order]).toEqual([0, 1, 4]);
  expect(checks).toMatchObject([{ code: "stamp-duplicate", severity: "doubt", evidence: { count: 2 } }]);
});

test("one duplicate in a thousand is a note", () => {
  const at = evenTimes(100, 10);
  at[500] = at[499]!;
  expect(build(signal({ at })).checks).toMatchObject([{ code: "stamp-duplicate", severity: "note" }]);
});

test("backward stamps are put in order and the largest step back is reported", () => {
  const at = evenTimes(100, 10);
  [at[100], at[101]] = [at[101]!, at[100]!];
  const { timeline, checks } = build(signal({ at }));
  expect([...timeline.order].slice(99, 103)).toEqual([99, 101, 100, 102]);
  expect(checks).toMatchObject([{ code: "stamp-backward", severity: "note", evidence: { count: 1 } }]);
  expect(checks[0]!.evidence.largest_step_back_s).toBeCloseTo(0.01, 12);
});

test("a clock set back by seconds is a doubt", () => {
  const at = evenTimes(100, 10).map((t, i) => (i < 500 ? t : t - 1.5));
  expect(build(signal({ at })).checks).toContainEqual(
    expect.objectContaining({ code: "stamp-backward", severity: "doubt" }),
  );
});

/** A table's: one time, which is stamp and receipt alike. */
const table = (at: readonly number[]) => {
  const time = stamps(at);
  return signal({ stamped: time, received: time });
};

// 900 rows at 100 Hz are 9 s; the second recording covers all of them, but for its ends
test("times of a table that begin again are two recordings, whose rows no order can part: unusable", () => {
  const at = [...evenTimes(100, 9), ...evenTimes(100, 20).map((t) => t + 0.003)];
  const [check] = build(table(at)).checks;
  expect(check).toMatchObject({ code: "stamp-backward", severity: "unusable", evidence: { rows_before: 900 } });
  expect(check!.evidence.shared_s).toBeCloseTo(9, 1);
  expect(check!.message).toContain("begin again after 900 of 2900 rows");
});

test("so are those that begin again to the same instants", () => {
  const at = [...evenTimes(100, 9), ...evenTimes(100, 9)];
  expect(build(table(at)).checks[0]).toMatchObject({ code: "stamp-backward", severity: "unusable" });
});

test("rows of a table that come late by seconds, into the gap that they left, are put in order", () => {
  const all = [...evenTimes(100, 20)];
  const at = [...all.slice(0, 500), ...all.slice(800), ...all.slice(500, 800)];
  const { timeline, checks } = build(table(at));
  expect([...timeline.t]).toEqual(all);
  expect(checks).toMatchObject([{ code: "stamp-backward", severity: "doubt" }]);
});

test("nor is a table two recordings whose rows stand from the last to the first, or in no order", () => {
  const all = [...evenTimes(100, 20)];
  const mixed = all.map((_, k) => all[(k * 791) % all.length]!);
  for (const at of [all.toReversed(), mixed]) {
    const { timeline, checks } = build(table(at));
    expect([...timeline.t]).toEqual(all);
    expect(checks).toMatchObject([{ code: "stamp-backward", severity: "doubt" }]);
  }
});

test("whatever the order of the messages, the timeline strictly increases and is the same set of instants", () => {
  fc.assert(
    fc.property(fc.array(fc.integer({ min: 0, max: 400 }), { minLength: 1, maxLength: 60 }), (ticks) => {
      const at = ticks.map((tick) => tick / 64);
      const { timeline } = build(signal({ at }));
      // sorting and dropping repeats with the language's own means
      expect([...timeline.t]).toEqual([...new Set(at)].sort((a, b) => a - b));
      timeline.order.forEach((message, i) => {
        expect(at[message]).toBe(timeline.t[i]);
        // the first of its equals
        expect(at.indexOf(at[message]!)).toBe(message);
      });
    }),
    { seed: 11, numRuns: 200 },
  );
});

test("what the caller owns stays as it was", () => {
  const recorded = signal({ at: [2, 0, 1, 1] });
  build(recorded);
  expect([...recorded.stamped!.seconds]).toEqual([2, 0, 1, 1]);
});

test("an instant after September 2001 can be a date, one from a boot cannot", () => {
  expect(isDate(someDate)).toBe(true);
  // a year after a boot
  expect(isDate(31_557_600_000_000_000n)).toBe(false);
  expect(isDate(0n)).toBe(false);
});
