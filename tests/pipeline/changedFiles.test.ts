import { appendFileSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, expect, test } from "vitest";
import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import { diskEffects } from "../../src/pipeline/effects.ts";
import { evaluateCampaign } from "../../src/pipeline/evaluateCampaign.ts";
import { sha256Of } from "../../src/pipeline/sha256Of.ts";
import { buildBag } from "../support/writeBag.ts";
import { flightMessages } from "./flightBag.ts";
import { shortFlight, shortManifest } from "./shortCampaign.ts";

const folder = mkdtempSync(join(tmpdir(), "counterpoise-changed-"));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
const place = (name: string): string => join(folder, name);
const bags = [1, 2, 3].map((seed) => buildBag(flightMessages(shortFlight(seed)), { perChunk: 500 }).bytes);
const manifest = shortManifest(["1.bag", "2.bag"]);

/** Evaluates two flights, written afresh,, and does something once the first log was read. */
async function evaluateWhile(meanwhile: () => void, text = manifest): Promise<CampaignEvaluation> {
  for (const [k, bytes] of bags.entries()) writeFileSync(place(`${k + 1}.bag`), bytes);
  writeFileSync(place("campaign.yaml"), text);
  let reads = 0;
  const readLog: typeof diskEffects.readLog = async (...asked) => {
    const recording = await diskEffects.readLog(...asked);
    if (reads++ === 0) meanwhile();
    return recording;
  };
  return evaluateCampaign(place("campaign.yaml"), { effects: { ...diskEffects, readLog } });
}

test.each([
  ["replaced by another flight", () => writeFileSync(place("1.bag"), bags[2]!)],
  ["written on", () => appendFileSync(place("1.bag"), "more")],
  ["taken away", () => rmSync(place("1.bag"))],
])("a log that is %s while it is evaluated makes its run unusable, and no other", async (_, meanwhile) => {
  const { runs } = await evaluateWhile(meanwhile);
  expect(runs.map(({ id, used }) => `${id} ${used}`)).toEqual(["1 false", "2 true"]);
  const changed = runs[0]!.checks.filter(({ message }) => message.includes("changed while it was evaluated (1.bag)"));
  expect(changed.map(({ code, severity }) => `${code} ${severity}`)).toEqual(["log-unreadable unusable"]);
});

test("a static capture that changes stops the evaluation: every run rests on it", async () => {
  const text = manifest.replace(/^runs:/m, "static_captures: [3.bag]\nruns:");
  const evaluation = evaluateWhile(() => appendFileSync(place("3.bag"), "more"), text);
  await expect(evaluation).rejects.toMatchObject({
    code: "file-changed",
    message: expect.stringContaining("3.bag changed while it was evaluated"),
  });
});

test("the sum of a manifest is that of the text that was read, whatever was written since", async () => {
  let first = "";
  const { inputs } = await evaluateWhile(() => {
    first = sha256Of(place("campaign.yaml"));
    appendFileSync(place("campaign.yaml"), "# a word more\n");
  });
  expect(inputs.find(({ path }) => path === "campaign.yaml")).toEqual({
    path: "campaign.yaml",
    sha256: first,
    bytes: Buffer.byteLength(manifest),
  });
  expect(readFileSync(place("campaign.yaml"), "utf8")).not.toBe(manifest);
});
