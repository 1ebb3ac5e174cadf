import fc from "fast-check";
import { expect, test } from "vitest";
import { decimalsFor, fixed, spreadText } from "../../src/report/text/numberText.ts";
import { plainText } from "../../src/report/text/plainText.ts";
import { spreadOf } from "../../src/report/text/spread.ts";
import { textWidth } from "../../src/report/text/textWidth.ts";
import { wrapText } from "../../src/report/text/wrapText.ts";

test("wrapText keeps every letter in its order and no line too wide", () => {
  const word = fc.string({ unit: fc.constantFrom(..."abc±é重🛠"), minLength: 1, maxLength: 60 });
  fc.assert(
    fc.property(fc.array(word, { maxLength: 20 }), fc.integer({ min: 12, max: 90 }), (words, width) => {
      const lines = wrapText(words.join(" "), width, { first: "  ", rest: "    " });
      for (const line of lines) expect(textWidth(line)).toBeLessThanOrEqual(width);
      expect(lines.join("").replaceAll(" ", "")).toBe(words.join(""));
    }),
    { seed: 11, numRuns: 300 },
  );
});

test("wrapText breaks at blanks where it can", () => {
  expect(wrapText("one two three", 8)).toEqual(["one two", "three"]);
  expect(wrapText("", 8)).toEqual([""]);
  expect(wrapText("abcdefghij kl", 6, { first: "- " })).toEqual(["- abcd", "  efgh", "  ij", "  kl"]);
});

test("textWidth counts two columns for wide letters, none for combining marks", () => {
  expect(textWidth("abc ± –")).toBe(7);
  expect(textWidth("重り")).toBe(4);
  // e and a combining acute accent
  expect(textWidth("e\u0301")).toBe(1);
});

test("plainText shows what would steer a terminal or turn the writing round", () => {
  expect(plainText("a\u0007b")).toBe("a\\x07b");
  expect(plainText("a\u202eb")).toBe("a\\u202eb");
  expect(plainText("  one\n two\t")).toBe("one two");
});

test("spreadOf leaves out runs without the value and says how many have it", () => {
  // 1 and 4: mean 2.5, sd sqrt((2.25 + 2.25) / 1) = 2.1213
  const spread = spreadOf([1, null, 4, undefined]);
  expect(spread).toMatchObject({ n: 2, mean: 2.5 });
  expect(spread?.sd).toBeCloseTo(Math.sqrt(4.5), 12);
  expect(spreadOf([null])).toBeNull();
  expect(spreadOf([3])).toEqual({ n: 1, mean: 3, sd: null });
});

test("spreadOf refuses what is no number", () => {
  expect(() => spreadOf([1, Number.NaN])).toThrow(/index 1/);
});

test("numbers of a table share their decimals, and zero has no sign", () => {
  expect([1234, 123, 12, 1.2, 0.12, 0.012, 0].map((value) => decimalsFor([value, 0]))).toEqual([0, 1, 2, 2, 3, 4, 2]);
  expect(fixed(-0.001, 2)).toBe("0.00");
  expect(fixed(-0.006, 2)).toBe("-0.01");
  expect(spreadText({ n: 3, mean: 0.0123, sd: 0.0004 }, 2, 1000)).toBe("12.30 ± 0.40");
});
