import { expect, test } from "vitest";
import { ratioTexts } from "../../src/words/amounts.ts";

test("a ratio stands with its interval, as a lower limit where there is no upper one, and not at all without either", () => {
  expect(ratioTexts({ ratio: 0.289, ratio_ci95: [0.274, 0.318] })).toEqual(["0.29", "0.27 to 0.32"]);
  expect(ratioTexts({ ratio: 50.68, ratio_ci95: [10.22, null] })).toEqual(["–", "at least 10.22"]);
  expect(ratioTexts({ ratio: 1.2, ratio_ci95: null })).toEqual(["–", "–"]);
  expect(ratioTexts({ ratio: null, ratio_ci95: null })).toEqual(["–", "–"]);
});
