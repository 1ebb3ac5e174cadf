import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { type Dimension, parseQuantity, unitFactor } from "../../../src/contract/manifest/quantity.ts";

// hand arithmetic; a literal such as 0.06 is the double nearest to the decimal, so equality is exact
const exact: [string, Dimension, number][] = [
  ["60 mm", "length", 0.06],
  ["60mm", "length", 0.06],
  ["35 mm", "length", 0.035],
  ["-140 mm", "length", -0.14],
  ["1.5 mm", "length", 0.0015],
  ["12 cm", "length", 0.12],
  ["250 um", "length", 0.00025],
  ["250 µm", "length", 0.00025],
  ["1 inch", "length", 0.0254],
  ["6e1 mm", "length", 0.06],
  [".5 m", "length", 0.5],
  ["+2 m", "length", 2],
  ["0.25 m/s", "speed", 0.25],
  ["250 mm/s", "speed", 0.25],
  ["0.25 m s^-1", "speed", 0.25],
  ["540 g", "mass", 0.54],
  ["270 g", "mass", 0.27],
  ["4.6 kg", "mass", 4.6],
  ["2 s", "time", 2],
  ["-137 ms", "time", -0.137],
  ["\u2212137 ms", "time", -0.137],
  ["2 min", "time", 120],
  ["92 N", "force", 92],
  ["1 kgf", "force", 9.80665],
  ["0 deg", "angle", 0],
  ["180 deg", "angle", Math.PI],
  ["90°", "angle", Math.PI / 2],
  ["-0 mm", "length", 0],
];

test.each(exact)("%s is exactly what hand arithmetic gives", (text, dimension, value) => {
  expect(parseQuantity(text, dimension)).toBe(value);
});

test("millimetres and grams of up to four decimals are the doubles nearest to the decimal", () => {
  fc.assert(
    fc.property(fc.integer({ min: -9_999_999, max: 9_999_999 }), (tenThousandths) => {
      const digits = (tenThousandths / 1e4).toFixed(4);
      // both integers are exact doubles and IEEE 754 division rounds once, so this is the nearest double (+ 0 clears -0)
      const nearest = tenThousandths / 1e7 + 0;
      expect(parseQuantity(`${digits} mm`, "length")).toBe(nearest);
      expect(parseQuantity(`${digits} g`, "mass")).toBe(nearest);
    }),
    { seed: 2, numRuns: 500 },
  );
});

const refused: [string, unknown, Dimension, RegExp, RegExp | null][] = [
  ["a bare number", "60", "length", /found the bare number 60, expected a length such as 60 mm/, /60 mm or 60 m,/],
  ["a unit of the wrong dimension", "2 s", "length", /found "2 s", which is a time, expected a length/, /mm, m, cm/],
  [
    "another dimension without a name here",
    "2 A",
    "mass",
    /another kind of quantity, expected a mass such as 540 g/,
    null,
  ],
  ["an unknown unit", "60 mmm", "length", /unknown unit "mmm" in "60 mmm", expected a length/, /did you mean mm\?/],
  ["an unknown unit with nothing near", "60 parsnips", "length", /unknown unit "parsnips"/, /units that fit: mm/],
  ["NaN", "NaN mm", "length", /found "NaN mm", expected a length/, /a number, then its unit/],
  ["infinity in words", "Infinity mm", "length", /found "Infinity mm", expected a length/, null],
  ["infinity in digits", "1e999 mm", "length", /which is Infinity m, expected at most 1000 m/, null],
  [
    "a megametre for a millimetre",
    "60 Mm",
    "length",
    /which is 60000000 m, expected at most 1000 m/,
    /upper and lower case/,
  ],
  ["a decimal comma", "1,5 mm", "length", /found "1,5 mm"/, /decimal point/],
  ["a unit without a number", "mm", "length", /found "mm", expected a length/, /a number, then its unit/],
  ["nothing", null, "length", /found nothing, expected a length/, null],
  ["a list", ["1 mm"], "length", /found a list of 1 item, expected a length/, null],
  ["a calculation", "60 mm*2", "length", /unknown unit/, null],
  ["two numbers", "60 mm 3 mm", "length", /unknown unit/, null],
  ["a temperature offset", "20 degC", "angle", /another kind of quantity/, null],
];

test.each(refused)(
  "%s is refused, with what was found, what was expected and a hint",
  (_, text, dimension, message, hint) => {
    const refusal = complaint(() => parseQuantity(text, dimension));
    expect(refusal.message).toMatch(message);
    if (hint !== null) expect(refusal.hint).toMatch(hint);
  },
);

describe("signs that make no sense", () => {
  test("positive refuses zero and negatives", () => {
    expect(complaint(() => parseQuantity("-60 mm", "length", { sign: "positive" })).message).toMatch(/more than zero/);
    expect(complaint(() => parseQuantity("0 mm", "length", { sign: "positive" })).message).toMatch(/more than zero/);
    expect(parseQuantity("1 um", "length", { sign: "positive" })).toBe(1e-6);
  });
  test("a duration of more than a day is a slip of the prefix, a difference of clocks may be an epoch", () => {
    expect(complaint(() => parseQuantity("2 Ms", "time", { sign: "positive" })).message).toMatch(
      /expected at most 86400 s/,
    );
    expect(parseQuantity("1800000000 s", "time")).toBe(1.8e9);
  });
  test("not-negative accepts zero", () => {
    expect(parseQuantity("0 g", "mass", { sign: "not-negative" })).toBe(0);
    expect(complaint(() => parseQuantity("-1 g", "mass", { sign: "not-negative" })).message).toMatch(/not negative/);
  });
});

// SI brochure, 9th edition (2019): newton = kg m s^-2, volt = kg m^2 s^-3 A^-1
test("units are taken apart into SI base units", () => {
  expect(unitFactor("N")).toEqual({ factor: 1, dimensions: [1, 1, -2, 0, 0, 0, 0, 0, 0] });
  expect(unitFactor("kg m s^-2")).toEqual(unitFactor("N"));
  expect(unitFactor("V")).toEqual({ factor: 1, dimensions: [1, 2, -3, -1, 0, 0, 0, 0, 0] });
  expect(unitFactor("G")).toBeNull();
  expect(unitFactor("m".repeat(5000))).toBeNull();
});

function complaint(run: () => unknown): { message: string; hint: string } {
  try {
    run();
  } catch (error) {
    return error as { message: string; hint: string };
  }
  throw new Error("was not refused");
}
