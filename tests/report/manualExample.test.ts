import { readFileSync } from "node:fs";
import { resolve } from "node:path";
import { expect, test } from "vitest";
import { diskEffects } from "../../src/pipeline/effects.ts";
import { evaluateCampaign } from "../../src/pipeline/evaluateCampaign.ts";
import { evaluationText } from "../../src/report/evaluationText.ts";

const root = resolve(import.meta.dirname, "../..");
const page = readFileSync(resolve(root, "client/manual/verdicts.md"), "utf8");

// The manual's example is a quotation: it must be what a reader gets from the sample campaign. The figures that its words
// round are read from the evaluation.
test("the manual's example of verdicts is what the sample campaign prints", { timeout: 120_000 }, async () => {
  const evaluation = await evaluateCampaign(resolve(root, "sample-data/campaign.yaml"), {
    // a test is no look at the verdicts: it leaves no trace
    effects: { ...diskEffects, writeAtomically: () => Promise.resolve() },
  });
  const printed = evaluationText(evaluation, { colour: false, width: 80 }).split("\n");
  const [, quoted] = /## An example[\s\S]*?```text\n([\s\S]*?)\n```/.exec(page)!;
  let from = 0;
  for (const line of quoted!.split("\n").filter((each) => each !== "...")) {
    const at = printed.indexOf(line, from);
    expect(at, line).toBeGreaterThanOrEqual(0);
    from = at + 1;
  }
  const [, words] = /## An example[\s\S]*?```text\n[\s\S]*?\n```([\s\S]*?)\n## /.exec(page)!;
  const told = words!.replace(/\s+/g, " ");
  const cell = (subject: string, axis: string) =>
    evaluation.cells.find(
      (each) => each.in_family && each.trajectory === "reach" && each.subject === subject && each.axis === axis,
    )!;
  const mm = (metres: number): string => (metres * 1000).toFixed(1);
  const x = cell("vehicle", "x");
  expect(told).toContain(`${mm(-x.difference!)} mm lower`);
  expect(told).toContain(`${mm(-x.ci95![1])} to ${mm(-x.ci95![0])} mm`);
  expect(x.fragile).toEqual([]);
  const z = cell("vehicle", "z");
  expect(told).toContain(`The best guess is ${mm(z.difference!)} mm`);
  expect(told).toContain(`(${mm(z.ci90![0])} to ${mm(z.ci90![1])} mm, in`);
  // "without any one of flight-04, flight-08, flight-12 and flight-18": as many as are named
  const numerals = ["no", "one", "two", "three", "four"];
  expect(told).toContain(
    `without any one of ${numerals[z.fragile[0]!.match(/flight-\d+/g)!.length]} flights it would not`,
  );
  const open = cell("effector", "z");
  expect(told).toContain(`${mm(-open.difference!)} mm would be welcome`);
  const { low, middle, high } = open.runs_needed!;
  expect(told).toContain(`about ${middle} runs of each configuration`);
  expect(told).toContain(`as few as ${low} or as many as ${high}`);
  expect(told).toContain(`there are ${x.arrangements} ways`);
  expect(told).toContain(`below 1/${x.arrangements}, or ${x.p_least!.toFixed(3)}`);
});
