import { expect, test } from "vitest";
import { csvField } from "../../src/foundation/csvField.ts";

test.each([
  ["=1+1", "'=1+1"],
  ["+cmd", "'+cmd"],
  ["-cmd|' /c calc'!A0", "'-cmd|' /c calc'!A0"],
  ["@SUM(A1)", "'@SUM(A1)"],
  ["\t=1", "'\t=1"],
  ["\r=1", "'\r=1"],
])("%j would be taken for a formula and is distinguished", (text, field) => {
  expect(csvField(text)).toBe(field);
});

test.each([
  ["flight-01", "flight-01"],
  ["", ""],
  ["arm jammed = bad", "arm jammed = bad"],
  // numbers as texts stay numbers: a list of one negative value, say
  ["-0.0012", "-0.0012"],
  ["+1.5e-3", "+1.5e-3"],
  [-0.5, "-0.5"],
  [true, "true"],
  [null, ""],
])("%j stays as it is", (value, field) => {
  expect(csvField(value)).toBe(field);
});

test("what begins like a number and goes on as a formula is none", () => {
  expect(csvField("-1+cmd|x")).toBe("'-1+cmd|x");
  expect(csvField("+1=A1")).toBe("'+1=A1");
});
