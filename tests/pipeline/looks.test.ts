import { mkdir, mkdtemp, readdir, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import type { Campaign } from "../../src/contract/campaign.ts";
import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import { diskEffects, type Effects } from "../../src/pipeline/effects.ts";
import { evaluateCampaign } from "../../src/pipeline/evaluateCampaign.ts";
import { countLook, readLooks, recordLook } from "../../src/pipeline/recordLook.ts";
import { inventedCampaign } from "../support/inventedCampaign.ts";
import { inventedEvaluation } from "../support/inventedEvaluation.ts";
import { memoryEffects } from "../support/simulatedCampaign.ts";
import { shortFlight, shortManifest } from "./shortCampaign.ts";

let folder: string;
let manifest: string;
let hour: number;
let effects: Effects;

beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), "looks-"));
  manifest = join(folder, "campaign.yaml");
  hour = 8;
  effects = { ...diskEffects, now: () => new Date(Date.UTC(2026, 4, 4, hour++)) };
});
afterEach(() => rm(folder, { recursive: true }));

const plain = inventedEvaluation();
const logsOf = (evaluation: CampaignEvaluation, content = "a"): CampaignEvaluation["inputs"] =>
  evaluation.runs.flatMap(({ log, id }) =>
    log.map((path) => ({ path, sha256: `${content}${id}`.padEnd(64, "0"), bytes: 1 })),
  );

interface Shown {
  readonly runs?: CampaignEvaluation["runs"];
  readonly campaign?: Partial<Campaign>;
  readonly inputs?: CampaignEvaluation["inputs"];
  readonly name?: string;
}

/** What is said of the looks where these verdicts are shown, and then put on record. */
async function look({ runs = plain.runs, campaign = {}, inputs = logsOf(plain), name = "campaign.yaml" }: Shown = {}) {
  const at = { campaign: inventedCampaign(runs, campaign), runs, inputs, manifest: name };
  const counted = countLook(await readLooks(manifest, effects), at, effects.now());
  const recorded = await recordLook(at, manifest, effects);
  return { ...counted, recorded };
}
const lines = async (): Promise<string[]> => (await readFile(join(folder, "looks.jsonl"), "utf8")).trim().split("\n");

test("the first look is counted, dated and written", async () => {
  expect(await look()).toEqual({ count: 1, first: "2026-05-04T08:00:00.000Z", recorded: true });
  expect(await lines()).toHaveLength(1);
  expect(JSON.parse((await lines())[0]!)).toMatchObject({
    used: ["run-1", "run-2", "run-3", "run-4", "run-5"],
    primary: "rms",
    smallest_difference: { vehicle: 0.0015, effector: 0.0015, arm: null },
    manifest: "campaign.yaml",
  });
});

test("looking again at the same counts once, in whatever order the runs stand, and whatever they are called", async () => {
  await look();
  const before = await lines();
  expect((await look({ runs: [...plain.runs].reverse() })).count).toBe(1);
  const configurations = { bare: { label: "Bare arm", addedMass: null, counterweights: [] } };
  expect((await look({ campaign: { title: "Another title", configurations } })).count).toBe(1);
  expect(await lines()).toEqual(before);
});

test("what the verdicts rest on makes another look where it changes", async () => {
  let count = 1;
  await look();
  const changed = (i: number, change: object) => plain.runs.map((run, k) => (k === i ? { ...run, ...change } : run));
  const frames = inventedCampaign(plain.runs).frames;
  for (const other of [
    { runs: changed(0, { used: false }) },
    { runs: changed(0, { configuration: "weighted" }) },
    { runs: changed(0, { block: "day2" }) },
    { runs: changed(0, { trajectory: "reach" }) },
    { inputs: logsOf(plain, "b") },
    { campaign: { family: [{ trajectory: "orbit", subject: "effector" as const, axes: ["y" as const] }] } },
    { campaign: { primary: "range" } },
    { campaign: { smallestDifference: { vehicle: 0.001, effector: 0.0015, arm: null } } },
    { campaign: { tolerance: 0.02 } },
    { campaign: { tolerance: 0.03 } },
    { campaign: { judgeIn: "heading" } },
    { campaign: { accept: [{ check: "gap", runs: "all", because: "known", evidence: { gap_s: [0.1, 0.2] } }] } },
    { campaign: { frames: { ...frames, toolPoint: [0, 0, -0.045] } } },
  ] satisfies Shown[])
    expect((await look(other)).count, JSON.stringify(other).slice(0, 80)).toBe(++count);
  // and back: what was seen in between was seen
  expect((await look()).count).toBe(++count);
});

test("looks belong to the flights, not to a folder", async () => {
  await look();
  await look({ campaign: { primary: "range" } });
  const others = plain.runs.map((run) => ({ ...run, id: `other-${run.id}`, log: [`other-${run.log[0]}`] }));
  const inputs = logsOf({ ...plain, runs: others }, "c");
  expect((await look({ runs: others, inputs, name: "other.yaml" })).count).toBe(1);
  // the same flights under another manifest's name are the same flights
  expect((await look({ name: "copy.yaml" })).count).toBe(3);
});

test("a line of an older version counts for flights of its names", async () => {
  const old = { at: "2026-05-01T08:00:00.000Z", tool: "0.0.1", used: ["run-1"], primary: "rms" };
  const smallest_difference = { vehicle: 0.0015, effector: 0.0015, arm: null };
  await writeFile(join(folder, "looks.jsonl"), `${JSON.stringify({ ...old, smallest_difference })}\n`);
  expect(await look()).toMatchObject({ count: 2, first: old.at });
});

test("evaluations side by side lose no look, and the same one is written once", async () => {
  const primaries = ["rms", "range", "sd", "synchronous"] as const;
  await Promise.all(primaries.map((primary) => look({ campaign: { primary } })));
  expect((await lines()).map((line) => JSON.parse(line).primary).sort()).toEqual([...primaries].sort());
  await Promise.all([1, 2, 3, 4].map(() => look({ campaign: { primary: "rms" }, inputs: logsOf(plain, "d") })));
  expect(await lines()).toHaveLength(5);
  expect(await readdir(folder)).toEqual(["looks.jsonl"]);
});

test("where the disk refuses, the look counts and is said not to be on record", async () => {
  const refuse = async () => Promise.reject(new Error("read-only"));
  effects = { ...effects, writeAtomically: refuse };
  expect(await look()).toMatchObject({ count: 1, recorded: false });
  effects = { ...effects, locked: refuse };
  expect(await look()).toMatchObject({ count: 1, recorded: false });
});

test("a look is on record only after its evaluation was written, and never where nothing could be compared", async () => {
  const flight = shortFlight(301);
  const logs = Object.fromEntries(["a", "b", "c", "d", "e", "f"].map((name) => [`${name}.bag`, flight]));
  const written = new Map<string, string>();
  const runs = Object.keys(logs).map((log, i) => ({
    log,
    id: log,
    configuration: i % 2 === 0 ? "bare" : "weighted",
    trajectory: "orbit",
  }));
  const disk = memoryEffects(shortManifest(runs), logs, written);
  // copies of one flight: all but the first are unusable, so there is no verdict
  const evaluation = await evaluateCampaign("campaign.yaml", { effects: disk });
  expect(evaluation.looks).toEqual({ count: 0, first: null, recorded: true });
  expect([...written.keys()]).toEqual([]);
});

test("an evaluation that could not be written leaves no look", async () => {
  const logs = Object.fromEntries([1, 2, 3, 4, 5, 6].map((i) => [`flight-${i}.bag`, shortFlight(300 + i)] as const));
  const runs = Object.keys(logs).map((log, i) => ({
    log,
    id: log,
    configuration: i % 2 === 0 ? "bare" : "weighted",
    trajectory: "orbit",
  }));
  const written = new Map<string, string>();
  const disk = memoryEffects(shortManifest(runs), logs, written);
  const killed = evaluateCampaign("campaign.yaml", {
    effects: disk,
    write: async () => Promise.reject(new Error("killed")),
  });
  await expect(killed).rejects.toThrow("killed");
  expect(written.size).toBe(0);
  const order: string[] = [];
  const evaluation = await evaluateCampaign("campaign.yaml", {
    effects: { ...disk, writeAtomically: async (path) => void order.push(path) },
    write: async () => void order.push("evaluation"),
  });
  expect(evaluation.looks).toMatchObject({ count: 1, recorded: true });
  expect(order).toEqual(["evaluation", "looks.jsonl"]);
});

test.each([
  ["no JSON", "{", 2, "that is no look,"],
  ["another shape", '{"at":"2026-05-04T08:00:00Z"}', 2, "at tool"],
  ["an unknown metric", '{"at":"2026-05-04T08:00:00Z","tool":"1","used":[],"primary":"speed"}', 2, "at primary"],
])(
  "a broken line (%s) is named with file, line and what to do, and the file is left as it is",
  async (_, line, at, word) => {
    await look();
    const path = join(folder, "looks.jsonl");
    const text = `${await readFile(path, "utf8")}${line}\n`;
    await writeFile(path, text);
    const fault = await look().catch((error: unknown) => error);
    expect(fault).toMatchObject({ code: "looks-invalid", place: `${path}:${at}` });
    expect((fault as Error).message).toContain(word);
    expect((fault as { hint: string }).hint).toContain("restore it");
    expect(await readFile(path, "utf8")).toBe(text);
  },
);

test("a folder in the place of the record is a fault of the campaign, not of the tool", async () => {
  const path = join(folder, "looks.jsonl");
  await mkdir(path);
  const fault = await look().catch((error: unknown) => error);
  expect(fault).toMatchObject({ code: "looks-invalid", place: path });
});
