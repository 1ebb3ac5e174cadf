import { expect, test } from "vitest";
import { example, read, refusal } from "./support.ts";

const withLooks = (looks: string): string => `${example.trimEnd()}\nlooks: ${looks}\n`;

test("looks that are paid for: how many runs at most, and how the error is shared out", async () => {
  expect((await read(withLooks("{ runs_at_most: 12, spending: pocock }"))).looks).toEqual({
    runs_at_most: 12,
    spending: "pocock",
  });
  expect((await read(withLooks("{ runs_at_most: 8 }"))).looks).toEqual({ runs_at_most: 8, spending: "obrien-fleming" });
  expect("looks" in (await read(example))).toBe(false);
});

test.each([
  ["no number of runs", "{ spending: pocock }", /found nothing/, null],
  ["a number with a unit", "{ runs_at_most: 12 runs }", /a whole number/, /no unit/],
  ["fewer than get a verdict", "{ runs_at_most: 2 }", /found 2, expected at least 3 runs/, /no verdict/],
  ["another kind of spending", "{ runs_at_most: 12, spending: pokock }", /found "pokock"/, /pocock\?/],
  ["a key that is none", "{ runs_at_most: 12, level: 0.05 }", /level/, null],
  ["a bare number", "12", /found "?12"?, expected looks that are paid for/, null],
])("are refused with their place: %s", async (_, looks, message, hint) => {
  const { problems } = await refusal(withLooks(looks));
  expect(problems).toHaveLength(1);
  expect(problems[0]!.message).toMatch(message);
  if (hint !== null) expect(problems[0]!.hint).toMatch(hint);
});
