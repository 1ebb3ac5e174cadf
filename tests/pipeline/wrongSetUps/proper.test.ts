import { readdirSync } from "node:fs";
import { expect, test } from "vitest";
import { describeWith } from "../../support/available.ts";
import { judgeProper } from "./judgeGroup.ts";
import { wrongSetUps } from "./table.ts";
import { differencesFlown, flownDifferences, trialNames } from "./trueDifferences.ts";

judgeProper();

test("every group of the table has a file that judges it, so that they share the cores", () => {
  const files = readdirSync(import.meta.dirname);
  for (const group of Object.keys(wrongSetUps)) expect(files).toContain(`${group}.test.ts`);
});

describeWith(["slow"], "what the set-ups are held against", () => {
  test("the true differences are those that 100 pairs of flights give", () => {
    const flown = flownDifferences(100);
    for (const trial of trialNames)
      for (const [cell, difference] of flown[trial])
        expect(1e3 * difference, `${trial} ${cell}`).toBeCloseTo(differencesFlown[trial][cell]!, 3);
  });
});
