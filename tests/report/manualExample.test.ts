import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import { jsonSchemaOf } from "../../src/contract/jsonSchemas.ts";
import { diskEffects } from "../../src/pipeline/effects.ts";
import { evaluateCampaign } from "../../src/pipeline/evaluateCampaign.ts";
import { evaluationText } from "../../src/report/evaluationText.ts";
import { describeWith, python } from "../support/available.ts";
import { jsonFaults } from "../support/jsonFaults.ts";

const root = resolve(import.meta.dirname, "../..");
const page = readFileSync(resolve(root, "client/manual/verdicts.md"), "utf8");

let evaluation: CampaignEvaluation;
beforeAll(async () => {
  evaluation = await evaluateCampaign(resolve(root, "sample-data/campaign.yaml"), {
    // a test is no look at the verdicts: it leaves no trace
    effects: { ...diskEffects, writeAtomically: () => Promise.resolve() },
  });
}, 120_000);

// The manual's example is a quotation: it must be what a reader gets from the sample campaign. The figures that its words
// round are read from the evaluation.
test("the manual's example of verdicts is what the sample campaign prints", () => {
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

const folder = mkdtempSync(join(tmpdir(), "counterpoise-readers-"));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
const readers = readFileSync(resolve(root, "client/manual/evaluation.md"), "utf8");

/** What a reader of the manual prints of the sample's evaluation; it is a program of at most 40 lines. */
function printedBy(language: string, command: readonly string[], file: string): string[] {
  const [, program] = new RegExp(`\`\`\`${language}\\n([\\s\\S]*?)\\n\`\`\``).exec(readers)!;
  expect(program!.split("\n").length).toBeLessThanOrEqual(40);
  writeFileSync(join(folder, file), program!);
  writeFileSync(join(folder, "evaluation.json"), JSON.stringify(evaluation));
  const { status, stdout, stderr } = spawnSync(command[0]!, [...command.slice(1), file, "evaluation.json"], {
    cwd: folder,
    encoding: "utf8",
  });
  expect([status, stderr]).toEqual([0, ""]);
  return stdout.trimEnd().split("\n");
}

/** The verdicts of the family as the readers of the manual print them; the sample's are lengths. */
function verdictsOf({ cells }: CampaignEvaluation): string[] {
  const signed = (metres: number): string => `${metres < 0 ? "-" : "+"}${Math.abs(1000 * metres).toFixed(2)}`;
  return cells
    .filter((cell) => cell.in_family)
    .map(({ trajectory, subject, axis, verdict, difference, ci95 }) => {
      const place = `${trajectory} ${subject} ${axis}: ${verdict}`;
      if (difference === null || ci95 === null) return place;
      return `${place}, ${signed(difference)} mm (${signed(ci95[0])} to ${signed(ci95[1])})`;
    });
}

describeWith(["jsonschema"], "the manual's reader in Python", () => {
  test("prints the verdicts of the sample", () => {
    expect(printedBy("python", [python], "cells.py")).toEqual(verdictsOf(evaluation));
    expect(verdictsOf(evaluation).length).toBeGreaterThan(5);
  });

  test("the sample's evaluation fits the schema that is printed, by another program's reading of it", () => {
    expect(jsonFaults(jsonSchemaOf("evaluation"), [JSON.parse(JSON.stringify(evaluation))])).toEqual([[]]);
  });
});

describeWith(["r", "jsonlite"], "the manual's reader in R", () => {
  test("prints the verdicts of the sample", () => {
    expect(printedBy("r", ["Rscript", "--vanilla"], "cells.R")).toEqual(verdictsOf(evaluation));
  });
});
