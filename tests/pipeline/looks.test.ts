import { mkdir, mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { diskEffects, type Effects } from "../../src/pipeline/effects.ts";
import { readLooks, recordLook } from "../../src/pipeline/recordLook.ts";
import { inventedEvaluation } from "../support/inventedEvaluation.ts";

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

const look = async (evaluation = inventedEvaluation()) =>
  recordLook(evaluation, await readLooks(manifest, effects), manifest, effects);

test("the first look is counted, dated and written", async () => {
  expect(await look()).toEqual({ count: 1, first: "2026-05-04T08:00:00.000Z", recorded: true });
  const lines = (await readFile(join(folder, "looks.jsonl"), "utf8")).split("\n");
  expect(lines).toHaveLength(2);
  expect(JSON.parse(lines[0]!)).toMatchObject({
    at: "2026-05-04T08:00:00.000Z",
    used: ["run-1", "run-2", "run-3", "run-4", "run-5"],
    primary: "rms",
    smallest_difference: { vehicle: 0.0015, effector: 0.0015, arm: null },
  });
});

test("looking again at the same runs, metric and smallest difference counts once, in whatever order the runs stand", async () => {
  await look();
  const before = await readFile(join(folder, "looks.jsonl"), "utf8");
  const turned = inventedEvaluation();
  expect((await look({ ...turned, runs: [...turned.runs].reverse() })).count).toBe(1);
  expect(await readFile(join(folder, "looks.jsonl"), "utf8")).toBe(before);
});

test("another set of used runs, another metric and another smallest difference each count", async () => {
  await look();
  const one = inventedEvaluation();
  const fewer = { ...one, runs: one.runs.map((run, i) => (i === 0 ? { ...run, used: false } : run)) };
  expect((await look(fewer)).count).toBe(2);
  const { settings } = one;
  expect((await look({ ...one, settings: { ...settings, primary: "range" } })).count).toBe(3);
  const smaller = { ...settings.smallest_difference, effector: 0.001 };
  const last = await look({ ...one, settings: { ...settings, smallest_difference: smaller } });
  expect(last).toEqual({ count: 4, first: "2026-05-04T08:00:00.000Z", recorded: true });
});

test("putting a run back is a look as well: what was seen in between was seen", async () => {
  const one = inventedEvaluation();
  const fewer = { ...one, runs: one.runs.map((run, i) => (i === 0 ? { ...run, used: false } : run)) };
  await look(one);
  await look(fewer);
  expect((await look(one)).count).toBe(3);
});

test("where the disk refuses, the look counts and is said not to be on record", async () => {
  effects = { ...effects, writeAtomically: async () => Promise.reject(new Error("read-only")) };
  expect(await look()).toEqual({ count: 1, first: "2026-05-04T08:00:00.000Z", recorded: false });
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
