import { describe, expect, test } from "vitest";
import { powerChecks } from "../../src/alignment/powerChecks.ts";
import { prepareSignal } from "../../src/alignment/timedSignals.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import type { RecordedSignal } from "../../src/foundation/recording.ts";
import type { Window } from "../../src/foundation/tracks.ts";
import { campaign, evenTimes, oneRun, signal } from "./signals.ts";

function check(recorded: RecordedSignal, scored: Window | null = [10, 30]) {
  const prepared = prepareSignal(campaign(), oneRun, recorded, defaultSettings);
  return powerChecks(new Map([[recorded.signal, prepared]]), (_, t) => t, scored, defaultSettings);
}

const at = evenTimes(2, 40);
const battery = (voltage: (t: number) => number, cells?: number): RecordedSignal =>
  signal({
    signal: "battery",
    topic: "/battery",
    at,
    columns: { voltage: at.map(voltage), ...(cells === undefined ? {} : { cells: at.map(() => cells) }) },
  });

describe("battery", () => {
  test("a fall by more than 6 % within the scored window is sag, by less is use", () => {
    // 24 V less 0.1 V/s from 10 s to the last reading before 30 s, at 29.5 s: 1.95 of 23 V, 8.5 %
    const found = check(battery((t) => 24 - 0.1 * t));
    expect(found).toMatchObject([
      { code: "sag", severity: "doubt", evidence: { first_v: 23, lowest_v: 21.05, cells: null } },
    ]);
    expect(found[0]!.evidence.lost_share as number).toBeCloseTo(1.95 / 23, 12);
    expect(check(battery((t) => 24 - 0.05 * t))).toEqual([]);
  });

  test("below 3.5 V a cell is sag where the cells are known", () => {
    expect(check(battery(() => 20.9, 6))).toMatchObject([{ code: "sag", evidence: { cells: 6 } }]);
    expect(check(battery(() => 21.1, 6))).toEqual([]);
    expect(check(battery(() => 20.9))).toEqual([]);
  });

  test("what happens outside the scored window does not count, nor do readings of 0 or NaN", () => {
    expect(check(battery((t) => (t < 9 || t > 31 ? 15 : 23)))).toEqual([]);
    expect(check(battery((t) => (t === 12 ? 0 : t === 14 ? Number.NaN : 23)))).toEqual([]);
    expect(
      check(
        battery((t) => 24 - 0.1 * t),
        null,
      ),
    ).toEqual([]);
  });
});

const motors = (output: (t: number, motor: number) => number): RecordedSignal => {
  const times = evenTimes(50, 40);
  return signal({
    signal: "motors",
    topic: "/motors",
    at: times,
    columns: Object.fromEntries([0, 1, 2, 3, 4, 5].map((k) => [`m${k}`, times.map((t) => output(t, k))])),
  });
};

describe("motors", () => {
  test("one of six at full for 5 % of the window is saturated", () => {
    const found = check(motors((t, k) => (k === 3 && t >= 20 && t < 21 ? 1 : 0.55)));
    expect(found).toMatchObject([{ code: "saturated", severity: "doubt", evidence: { full_scale: 1 } }]);
    // 50 of the 1000 samples from 10 s to before 30 s
    expect(found[0]!.evidence.share as number).toBeCloseTo(50 / 1000, 12);
  });

  test("full for less than 1 %, or outside the window, is not", () => {
    expect(check(motors((t, k) => (k === 3 && t >= 20 && t < 20.15 ? 1 : 0.55)))).toEqual([]);
    expect(check(motors((t) => (t < 9 ? 1 : 0.55)))).toEqual([]);
  });

  test("servo pulses count from 1000 to 2000 us", () => {
    expect(check(motors((t, k) => (k === 0 && t > 25 ? 1990 : 1500)))).toMatchObject([
      { code: "saturated", evidence: { full_scale: 2000 } },
    ]);
    expect(check(motors((t, k) => (k === 0 && t > 25 ? 1970 : 1500)))).toEqual([]);
  });

  test("outputs that are neither are not judged, and that is said", () => {
    expect(check(motors(() => 430))).toMatchObject([
      { code: "saturated", severity: "note", evidence: { highest: 430 } },
    ]);
  });
});

test("where neither was logged there is nothing to say", () => {
  expect(powerChecks(new Map(), (_, t) => t, [10, 30], defaultSettings)).toEqual([]);
});
