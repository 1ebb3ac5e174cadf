import { describe, expect, test } from "vitest";
import { readDate, readInstant } from "../../../src/readers/table/instantCell.ts";

const nanoseconds = (text: string, power: number, point = 46): bigint | null => {
  const bytes = Buffer.from(text);
  const into = { sec: 0, nsec: 0 };
  readInstant(bytes, 0, bytes.length, { point, power }, into);
  return Number.isNaN(into.sec) ? null : BigInt(into.sec) * 1_000_000_000n + BigInt(into.nsec);
};

// exact arithmetic: the digits shifted by the power of the unit
describe("a time in decimal keeps every nanosecond", () => {
  test.each([
    ["1772714780.5648825", 0, 1_772_714_780_564_882_500n],
    ["1772714780.123456789", 0, 1_772_714_780_123_456_789n],
    ["1772714780564.8825", 3, 1_772_714_780_564_882_500n],
    ["1718294193192431", 6, 1_718_294_193_192_431_000n],
    ["1718294193192431123", 9, 1_718_294_193_192_431_123n],
    ["0.054423", 0, 54_423_000n],
    ["12", 6, 12_000n],
    ["-2.5", 0, -2_500_000_000n],
    ["0.0000000015", 0, 2n],
    ["1.99999999999", 0, 2_000_000_000n],
    ["5", 0, 5_000_000_000n],
    [".5", 3, 500_000n],
    ["1.5e3", 0, 1_500_000_000_000n],
  ] as const)("%s in units of 10^-%i s", (text, power, expected) => {
    expect(nanoseconds(text, power)).toBe(expected);
  });

  test("with a decimal comma as well", () => {
    expect(nanoseconds("3,25", 0, 44)).toBe(3_250_000_000n);
  });

  test.each(["", "abc", "12:30:01", "1.2.3"])("%j is none", (text) => {
    expect(nanoseconds(text, 0)).toBeNull();
  });
});

describe("a date with time", () => {
  const into = { sec: 0, nsec: 0 };
  const read = (text: string): [number, number] => {
    readDate(text, into);
    return [into.sec, into.nsec];
  };

  // seconds since 1970 of 2026-09-14T09:30:00Z by Debian's date(1): 1789378200
  test.each([
    ["2026-09-14T09:30:00Z", 1_789_378_200, 0],
    ["2026-09-14 09:30:00.25", 1_789_378_200, 250_000_000],
    ["2026-09-14T11:30:00,123456789+02:00", 1_789_378_200, 123_456_789],
    ["2026/09/14 04:30:00 -0500", 1_789_378_200, 0],
    ["2026-09-14T09:30Z", 1_789_378_200, 0],
    ["14-Sep-2026 09:30:00.250", 1_789_378_200, 250_000_000],
    ["14.9.2026 09:30:00,25", 1_789_378_200, 250_000_000],
  ])("%s", (text, sec, nsec) => {
    expect(read(text)).toEqual([sec, nsec]);
  });

  // str() of pandas.Timedelta("30:30:00.25") and of pandas.Timedelta(-0.25, "s") (Debian's python3-pandas)
  test.each([
    ["09:30:00", 34_200, 0],
    ["1 days 06:30:00.250000", 109_800, 250_000_000],
    ["-1 days +23:59:59.750000", -1, 750_000_000],
  ])("of day, or behind days: %s", (text, sec, nsec) => {
    expect(read(text)).toEqual([sec, nsec]);
  });

  test.each([
    "2026-02-30T00:00:00",
    "2026-13-01 00:00:00",
    "2026-09-14T25:00:00",
    "yesterday",
    "12.5",
    "03/04/2026 09:30:00",
    "14-Foo-2026 09:30:00",
    "31.02.2026 09:30:00",
  ])("%s is none", (text) => {
    expect(read(text)).toEqual([Number.NaN, Number.NaN]);
  });
});
