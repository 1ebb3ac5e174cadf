import { describe, expect, test } from "vitest";
import { seededRandom } from "../../../src/numeric/seededRandom.ts";
import { isText, readDecimal } from "../../../src/readers/table/decimal.ts";

const point = 46;
const comma = 44;
const read = (text: string, mark = point): number => {
  const bytes = Buffer.from(`,${text},`, "latin1");
  return readDecimal(bytes, 1, bytes.length - 1, mark);
};

// ECMAScript's Number rounds a decimal correctly (ECMA-262, StringToNumber): every digit has to agree, so no tolerance
test("numbers of every length are rounded as the language rounds them", () => {
  const random = seededRandom(601);
  const uniform = (): number => random.uniform();
  for (let i = 0; i < 60_000; i++) {
    const value = (uniform() - 0.5) * 10 ** Math.floor(uniform() * 14 - 7);
    const text = [
      String(value),
      value.toFixed(Math.floor(uniform() * 20)),
      (uniform() * 1e9).toFixed(7),
      value.toExponential(Math.floor(uniform() * 20)),
      `${Math.floor(uniform() * 2 ** 53)}.${Math.floor(uniform() * 1e6)}`,
      (uniform() + uniform() / 2 ** 32).toFixed(17),
    ][i % 6]!;
    if (!Object.is(read(text), Number(text))) expect([text, read(text)]).toEqual([text, Number(text)]);
  }
});

test("numbers halfway between two doubles, and next to that, are rounded to even as the language does", () => {
  // 2^53 + 1 and its like lie exactly between two doubles
  for (const text of [
    "9007199254740993",
    "9007199254740993.0",
    "9007199254740992.999999",
    "9007199254740993.000001",
    "4503599627370497.5",
    "4503599627370496.5",
    "1.00000000000000011102230246251565",
    "0.500000000000000166533453693773481063544750213623046875",
  ])
    expect(read(text)).toBe(Number(text));
});

describe("cells as people and programs write them", () => {
  test.each([
    ["+0.5", 0.5],
    ["-.25", -0.25],
    ["7.", 7],
    ["-0", -0],
    ["1e3", 1000],
    ["2.5E-3", 0.0025],
    ["00012.50", 12.5],
    ["inf", Number.POSITIVE_INFINITY],
    ["-Infinity", Number.NEGATIVE_INFINITY],
  ])("%s is a number", (text, value) => {
    expect(read(text)).toBe(value);
  });

  test.each(["", "NaN", "nan", "null", "-", "--", "N/A", "#N/A"])("%j is none, and no text either", (text) => {
    expect(read(text)).toBeNaN();
    expect(isText(Buffer.from(text), 0, text.length)).toBe(false);
  });

  test.each(["abc", "1.2.3", "1,5", "12:30", "1e", "e5", "0x10", "1 2", "."])("%s is text", (text) => {
    expect(read(text)).toBeNaN();
    expect(isText(Buffer.from(text), 0, text.length)).toBe(true);
  });

  test("a decimal comma is read where the table has one", () => {
    expect(read("-1234,5678", comma)).toBe(-1234.5678);
    expect(read("1.5", comma)).toBeNaN();
    expect(read("6,02e23", comma)).toBe(6.02e23);
  });
});
