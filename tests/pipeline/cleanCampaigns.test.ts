import { expect, test } from "vitest";
import { describeWith } from "../support/available.ts";
import { runsOfLab } from "./cleanLab.ts";

/**
 * Campaigns in which nothing is wrong, of labs that differ in all that a lab may choose: a program that doubts everything would pass
 * every test of wrong set-ups.
 */

/** At most 2 % of the runs with any doubt; none refused. */
async function expectClean(labs: number, allowed: number): Promise<void> {
  const doubts: string[] = [];
  const refused: string[] = [];
  let doubtful = 0;
  for (let seed = 1; seed <= labs; seed++)
    for (const run of await runsOfLab(seed)) {
      const found = run.checks.filter(({ severity }) => severity !== "note");
      if (!run.used) refused.push(`lab ${seed}, ${run.id}: ${run.excluded_because}`);
      if (found.length > 0) doubtful++;
      doubts.push(...found.map(({ code, message }) => `lab ${seed}, ${run.id}: ${code}: ${message}`));
    }
  expect(refused).toEqual([]);
  expect(doubtful, doubts.join("\n")).toBeLessThanOrEqual(allowed);
}

// 2 % of 120 runs are 2
test(
  "20 labs in which nothing is wrong: at most 2 of 120 runs are doubted, none is refused",
  { timeout: 300_000 },
  () => expectClean(20, 2),
);

describeWith(["slow"], "200 labs in which nothing is wrong", () => {
  test("at most 24 of 1200 runs are doubted, none is refused", { timeout: 3_600_000 }, () => expectClean(200, 24));
});
