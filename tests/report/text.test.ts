import fc from "fast-check";
import { expect, test } from "vitest";
import { packPieces, plainText, textTable, textWidth, wrapText } from "../../src/report/text/layout.ts";
import { quotedName, shortName, wordOrQuoted } from "../../src/report/text/nameText.ts";
import {
  allOf,
  countRange,
  decimalsFor,
  fixed,
  lengthText,
  probabilityText,
  sizeRange,
  spreadOf,
  spreadText,
} from "../../src/report/text/numbers.ts";
import { joinWords } from "../../src/words/amounts.ts";

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

test("packPieces breaks between pieces, and within one only where it is longer than a line", () => {
  expect(packPieces(["-3.6", "[-4.5, -2.7]"], 17)).toEqual(["-3.6 [-4.5, -2.7]"]);
  expect(packPieces(["-3.6", "[-4.5, -2.7]"], 16)).toEqual(["-3.6", "[-4.5, -2.7]"]);
  expect(packPieces(["90 %", "5 v 5", "p 0.1"], 12, { between: ", ", first: "- ", rest: "  " })).toEqual([
    "- 90 %,",
    "  5 v 5,",
    "  p 0.1",
  ]);
  expect(packPieces(["abc def", "g"], 5, { between: "; " })).toEqual(["abc", "def;", "g"]);
  expect(packPieces([], 5)).toEqual([]);
});

test("a table too narrow for its numbers names the columns in each row instead", () => {
  const rows = [{ label: "  bias", cells: ["-1.00 ± 0.50", "-2.00 ± 1.00"] }];
  expect(textTable(["x", "y"], rows, 44)).toEqual([
    "                            x              y",
    "  bias           -1.00 ± 0.50   -2.00 ± 1.00",
  ]);
  expect(textTable(["x", "y"], rows, 36)).toEqual([
    "                        x          y",
    "  bias: x -1.00 ± 0.50,",
    "    y -2.00 ± 1.00",
  ]);
});

test("a p is never rounded to the level that it has to be told from, or across it", () => {
  expect([1, 0.5, 0.0123, 0.05, 0.001].map(probabilityText)).toEqual(["p 1", "p 0.5", "p 0.012", "p 0.05", "p 0.001"]);
  expect(probabilityText(0.04996)).toBe("p 0.04996");
  expect(probabilityText(0.0502)).toBe("p 0.0502");
  expect(probabilityText(0.0009996)).toBe("p < 0.001");
});

test("lengths of a sentence are short, and one where least and most read alike", () => {
  // 0.6 um to 123.4 mm
  expect([0.0015, 0.002, 0.12345, 0.00042, 0.0000006, 0].map(lengthText)).toEqual([
    "1.5 mm",
    "2 mm",
    "123 mm",
    "0.42 mm",
    "0.001 mm",
    "0 mm",
  ]);
  expect(sizeRange([0.0034, 0.0012])).toBe("1.2 to 3.4 mm");
  expect(sizeRange([0.00121, 0.00119])).toBe("1.2 mm");
  // two decimals where the most is 1 to 100 mm, as in a table
  expect(sizeRange([0.000084, 0.006116])).toBe("0.08 to 6.12 mm");
  expect(sizeRange([0.000084, 0.006116], { decimals: 1 })).toBe("0.1 to 6.1 mm");
  // what would read as nothing keeps its own decimals
  expect(sizeRange([0.000034, 0.006116], { decimals: 1 })).toBe("0.034 to 6.1 mm");
  expect(sizeRange([0.0012, 0.15])).toBe("1.2 to 150 mm");
});

test("counts are reported as least and most, and all of them in words", () => {
  expect(countRange([3, 5, 4])).toBe("3 to 5");
  expect(countRange([4, 4])).toBe("4");
  expect([1, 2, 6].map((count) => allOf(count, "cell", "cells"))).toEqual([
    "the one cell",
    "both cells",
    "all 6 cells",
  ]);
});

test("a name within a sentence is quoted unless it is one plain word, cut where long, and cannot end its quotation", () => {
  expect(wordOrQuoted("reach_2")).toBe("reach_2");
  expect(wordOrQuoted("up and down")).toBe('"up and down"');
  expect(quotedName('the "new" arm')).toBe(`"the 'new' arm"`);
  expect(textWidth(shortName("重".repeat(60)))).toBeLessThanOrEqual(48);
  expect(shortName("a".repeat(49))).toBe(`${"a".repeat(47)}…`);
  expect(joinWords([])).toBe("");
  expect(joinWords(["x", "y", "z"])).toBe("x, y and z");
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
