import { expect, test } from "vitest";
import type { StampFigures } from "../../../src/contract/inspection.ts";
import { guessClocks } from "../../../src/pipeline/inspectLog.ts";

const stamps = (changes: Partial<StampFigures>): StampFigures => ({
  zero: 0,
  backward: 0,
  duplicate: 0,
  epoch: "date",
  delay_median: 0.002,
  delay_spread: 0.001,
  delay_growth: 0,
  ...changes,
});
const topic = (name: string, changes: Partial<StampFigures> | null, messages = 100) => ({
  topic: name,
  messages,
  stamps: changes === null ? null : stamps(changes),
});
const groups = (topics: Parameters<typeof guessClocks>[0]) =>
  guessClocks(topics).map(({ name, topics: stamped, by }) => ({ name, stamped, by }));

test("topics stamped equally far from receipt share a clock; topics without stamps are on the recorder's", () => {
  const topics = [
    topic("/mocap/tool", { delay_median: 0.152 }),
    topic("/imu", { delay_median: 0.004 }),
    topic("/motors", null),
    topic("/mocap/airframe", { delay_median: 0.145 }),
    topic("/zeros", { zero: 100, delay_median: null, delay_spread: null, epoch: null }),
  ];
  expect(groups(topics)).toEqual([
    { name: "recorder", stamped: ["/imu", "/motors", "/zeros"], by: "both" },
    { name: "clock-2", stamped: ["/mocap/airframe", "/mocap/tool"], by: "header" },
  ]);
});

test("the order of the topics does not matter", () => {
  const topics = [topic("/a", { delay_median: 1 }), topic("/b", { delay_median: -2 }), topic("/c", null)];
  expect(groups([...topics].reverse())).toEqual(groups(topics));
});

test("a latched message and wandering stamps are put on no clock", () => {
  const topics = [
    topic("/map", { delay_median: 777 }, 1),
    topic("/log", { delay_median: 1, delay_spread: 22 }),
    topic("/mostly-zero", { delay_median: 3, zero: 95 }),
    topic("/imu", {}),
  ];
  expect(groups(topics)).toEqual([{ name: "recorder", stamped: ["/imu"], by: "header" }]);
});

test("where no topic is on the recorder's clock, no clock is called so", () => {
  expect(groups([topic("/boot", { delay_median: 1.7e9, epoch: "since start" })])).toEqual([
    { name: "clock-1", stamped: ["/boot"], by: "header" },
  ]);
  expect(guessClocks([])).toEqual([]);
});
