import { mkdirSync, mkdtempSync, rmSync, utimesSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, expect, test } from "vitest";
import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import { diskEffects, type Effects } from "../../src/pipeline/effects.ts";
import { evaluateCampaign } from "../../src/pipeline/evaluateCampaign.ts";
import { findAnswer, keepAnswer, witnessed } from "../../src/pipeline/kept/keptAnswer.ts";
import { recordsIn } from "../../src/pipeline/kept/records.ts";
import { evaluationJson } from "../../src/pipeline/writeEvaluation.ts";
import { memoryEffects } from "../support/simulatedCampaign.ts";
import { shortFlight, shortManifest } from "./shortCampaign.ts";

const folder = mkdtempSync(join(tmpdir(), "counterpoise-answer-"));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const configurations = ["bare", "weighted", "bare", "weighted", "bare", "weighted"];
const logs = Object.fromEntries(configurations.map((_, k) => [`${k}.bag`, shortFlight(k + 1)]));
const manifest = shortManifest(
  configurations.map((configuration, k) => ({ log: `${k}.bag`, id: `${k}`, configuration, trajectory: "orbit" })),
);

/** A disk in memory that keeps what is written to it, and a clock that goes on. */
function world() {
  const texts = new Map([["campaign.yaml", manifest]]);
  const stamps = new Map<string, string>();
  const sizes = new Map<string, number>();
  let minutes = 0;
  const memory = memoryEffects(manifest, logs, texts);
  const effects: Effects = {
    ...memory,
    now: () => new Date(Date.UTC(2026, 4, 4, 8, minutes++)),
    stamp: async (path) => stamps.get(path) ?? "1 1 1 1",
    size: async (path) => sizes.get(path) ?? texts.get(path)?.length ?? memory.size(path),
    readText: async (path) => {
      const text = texts.get(path);
      if (text === undefined) throw new Error(`no such file: ${path}`);
      return text;
    },
  };
  return { texts, stamps, sizes, effects };
}

const kept = { records: recordsIn(folder), program: "build" };

/** Evaluates with a witness and keeps the answer. @returns what was evaluated, and whether it was kept */
async function evaluateAndKeep(effects: Effects): Promise<{ evaluation: CampaignEvaluation; isKept: boolean }> {
  const witness = witnessed(effects, "looks.jsonl");
  const settled: CampaignEvaluation[] = [];
  const evaluation = await evaluateCampaign("campaign.yaml", {
    effects: witness.effects,
    settled: (next) => void settled.push(next),
  });
  return { evaluation, isKept: await keepAnswer(kept, "campaign.yaml", witness.facts(), evaluationJson(settled[0]!)) };
}

test("the kept answer is what the next evaluation comes to, with its look on record, byte for byte", async () => {
  const { effects, texts } = world();
  const { isKept, evaluation } = await evaluateAndKeep(effects);
  expect(isKept).toBe(true);
  expect(evaluation.looks.count).toBe(1);
  const found = await findAnswer(kept, "campaign.yaml", effects);
  const looks = texts.get("looks.jsonl")!;
  expect(looks.trim().split("\n")).toHaveLength(1);
  expect(found).toBe(evaluationJson(await evaluateCampaign("campaign.yaml", { effects })));
  // neither of them was another look
  expect(texts.get("looks.jsonl")).toBe(looks);
});

type World = ReturnType<typeof world>;
test.each<[string, (world: World) => void]>([
  ["a word of the manifest", ({ texts }) => texts.set("campaign.yaml", `${manifest}# a word\n`)],
  ["an exclusions.yaml that was not there", ({ texts }) => texts.set("exclusions.yaml", "")],
  ["the record of looks, lost", ({ texts }) => texts.delete("looks.jsonl")],
  ["the record of looks, grown", ({ texts }) => texts.set("looks.jsonl", `${texts.get("looks.jsonl")}\n`)],
  ["a log", ({ stamps }) => stamps.set("2.bag", "1 2 1 1")],
  ["a log, taken away", ({ stamps }) => stamps.set("2.bag", "")],
  ["a log's size", ({ sizes }) => sizes.set("2.bag", 77)],
  ["a journal beside a log", ({ sizes }) => sizes.set("2.bag-wal", 1)],
])("what changes makes the kept answer none: %s", async (_, change) => {
  const own = world();
  await evaluateAndKeep(own.effects);
  expect(await findAnswer(kept, "campaign.yaml", own.effects)).not.toBeNull();
  change(own);
  expect(await findAnswer(kept, "campaign.yaml", own.effects)).toBeNull();
});

test("another program, or the manifest named in another way, finds no answer", async () => {
  const { effects } = world();
  await evaluateAndKeep(effects);
  expect(await findAnswer({ ...kept, program: "another" }, "campaign.yaml", effects)).toBeNull();
  expect(await findAnswer(kept, "./campaign.yaml", effects)).toBeNull();
});

test("an answer is not kept that rests on a log written a moment ago, written meanwhile, or not readable", async () => {
  const fresh = world();
  fresh.stamps.set("1.bag", `${Date.UTC(2026, 4, 4, 8, 0)} 1 1 1`);
  expect((await evaluateAndKeep({ ...fresh.effects, now: () => new Date(Date.UTC(2026, 4, 4, 8, 0, 1)) })).isKept).toBe(
    false,
  );
  let looks = 0;
  const meanwhile = {
    ...world().effects,
    stamp: async (path: string) => (path === "1.bag" ? `1 1 1 ${looks++}` : "1 1 1 1"),
  };
  expect((await evaluateAndKeep(meanwhile)).isKept).toBe(false);
  const unreadable = { ...world().effects, readLog: async () => Promise.reject(new Error("the disk did not answer")) };
  expect((await evaluateAndKeep(unreadable)).isKept).toBe(false);
});

test("a folder of a log is at rest only where it holds nothing hidden, and what is added to it is seen", async () => {
  const bag = join(folder, "bag");
  mkdirSync(bag);
  writeFileSync(join(bag, "metadata.yaml"), "");
  writeFileSync(join(bag, "bag_0.db3"), "");
  for (const path of [join(bag, "metadata.yaml"), join(bag, "bag_0.db3"), bag]) utimesSync(path, 1, 1);
  const later: Effects = { ...diskEffects, now: () => new Date(Date.now() + 60_000) };
  const asked = async () => {
    const { effects, facts } = witnessed(later, "looks.jsonl");
    await effects.filesOf(bag);
    return facts();
  };
  const facts = await asked();
  await keepAnswer(kept, "bag.yaml", facts, "the answer");
  expect(await findAnswer(kept, "bag.yaml", later)).toBe("the answer");
  writeFileSync(join(bag, ".hidden.db3"), "");
  expect(await findAnswer(kept, "bag.yaml", later)).toBeNull();
  expect(await asked()).toBeNull();
});
