import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { evaluationSchema } from "../../src/contract/evaluation.ts";
import { CounterpoiseError } from "../../src/foundation/errors.ts";
import { diskEffects } from "../../src/pipeline/effects.ts";
import { evaluationJson, writeEvaluation } from "../../src/pipeline/writeEvaluation.ts";
import { inventedEvaluation } from "../support/inventedEvaluation.ts";
import { memoryEffects } from "../support/simulatedCampaign.ts";
import { evaluateFlights, shortFlight } from "./shortCampaign.ts";

let folder: string;
let path: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "counterpoise-write-"));
  path = join(folder, "evaluation.json");
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const refused = async (job: Promise<void>): Promise<CounterpoiseError> => {
  const error = await job.catch((cause: unknown) => cause);
  expect(error).toBeInstanceOf(CounterpoiseError);
  return error as CounterpoiseError;
};

test("what is written is what was evaluated, and nothing else lies beside it", async () => {
  const evaluation = await evaluateFlights({ "a.bag": shortFlight(1), "b.bag": shortFlight(2) });
  await writeEvaluation(evaluation, path);
  expect(evaluationSchema.parse(JSON.parse(readFileSync(path, "utf8")))).toEqual(evaluation);
  expect(readdirSync(folder)).toEqual(["evaluation.json"]);
});

test("the same input gives the same bytes", async () => {
  const once = async (): Promise<string> =>
    evaluationJson(await evaluateFlights({ "a.bag": shortFlight(1), "b.bag": shortFlight(2) }));
  expect(await once()).toBe(await once());
});

test("the order of the runs changes their order, and no figure of any", async () => {
  const flights = { "a.bag": shortFlight(1), "b.bag": shortFlight(2), "c.bag": shortFlight(3) };
  const forward = await evaluateFlights(flights);
  const backward = await evaluateFlights(Object.fromEntries(Object.entries(flights).reverse()));
  expect(backward.runs.map(({ id }) => id)).toEqual(["c", "b", "a"]);
  expect([...backward.runs].reverse()).toEqual(forward.runs);
  // pooled over the runs in another order: the last digits
  for (const axis of ["x", "y", "z"] as const)
    expect(backward.noise!.vehicle![axis]).toBeCloseTo(forward.noise!.vehicle![axis], 15);
});

test("an evaluation that breaks its schema is not written: the old file stays, and it is said that the tool is at fault", async () => {
  writeFileSync(path, "old\n");
  const broken = inventedEvaluation();
  broken.runs[0]!.period = Number.NaN;
  const error = await refused(writeEvaluation(broken, path));
  expect(error.code).toBe("evaluation-invalid");
  expect(error.message).toMatch(/at runs\.0\.period/);
  expect(readFileSync(path, "utf8")).toBe("old\n");
  expect(readdirSync(folder)).toEqual(["evaluation.json"]);
});

test("a disk that refuses leaves the old file and no half of the new one", async () => {
  writeFileSync(path, "old\n");
  const effects = {
    ...memoryEffects("", {}),
    writeAtomically: async () => {
      throw new Error("ENOSPC: no space left on device");
    },
  };
  const error = await refused(writeEvaluation(inventedEvaluation(), path, effects));
  expect([error.code, error.place]).toEqual(["not-written", path]);
  expect(error.message).toContain("no space left on device");
  expect(readFileSync(path, "utf8")).toBe("old\n");
});

test("on a real disk: a folder that is not there is refused in words, and a file in the way of the new one is not lost", async () => {
  const nowhere = join(folder, "missing", "evaluation.json");
  expect((await refused(writeEvaluation(inventedEvaluation(), nowhere))).code).toBe("not-written");
  expect(readdirSync(folder)).toEqual([]);
  // renaming over a folder fails after the new text was written: it must not stay behind
  const { mkdirSync } = await import("node:fs");
  mkdirSync(path);
  writeFileSync(join(path, "kept.txt"), "kept\n");
  expect((await refused(writeEvaluation(inventedEvaluation(), path))).code).toBe("not-written");
  expect(readdirSync(folder)).toEqual(["evaluation.json"]);
  expect(readFileSync(join(path, "kept.txt"), "utf8")).toBe("kept\n");
});

test("a reader meets the old text or the new one, never a mixture", async () => {
  const texts = ["a", "b"].map((letter) => letter.repeat(4_000_000));
  await diskEffects.writeAtomically(path, texts[0]!);
  let reading = true;
  const seen = new Set<string>();
  const reader = (async () => {
    while (reading) {
      const text = await diskEffects.readText(path);
      seen.add(`${text[0]}${text.at(-1)}${text.length}`);
    }
  })();
  for (let i = 1; i <= 12; i++) await diskEffects.writeAtomically(path, texts[i % 2]!);
  reading = false;
  await reader;
  for (const one of seen) expect(["aa4000000", "bb4000000"]).toContain(one);
});
