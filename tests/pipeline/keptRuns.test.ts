import { mkdtempSync, readdirSync, readFileSync, rmSync, utimesSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeEach, expect, test } from "vitest";
import type { Effects } from "../../src/pipeline/effects.ts";
import { keptRuns } from "../../src/pipeline/kept/keptRuns.ts";
import { keptSums } from "../../src/pipeline/kept/keptSums.ts";
import { clear, recordsIn, sizeOf } from "../../src/pipeline/kept/records.ts";
import { measureCampaign } from "../../src/pipeline/measureCampaign.ts";
import { inTurn } from "../../src/pipeline/runPool.ts";
import { memoryEffects } from "../support/simulatedCampaign.ts";
import { shortFlight, shortManifest } from "./shortCampaign.ts";

const folder = mkdtempSync(join(tmpdir(), "counterpoise-kept-"));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
beforeEach(() => clear(folder));

const logs = { "a.bag": shortFlight(1), "b.bag": shortFlight(2) };
const manifest = shortManifest(Object.keys(logs));
const old = "1 1 1 1";
const at = new Date("2026-05-04T08:00:00Z");

/** The campaign in memory, its logs long at rest; `changes` in turn. */
function effectsOf(changes: Partial<Effects> = {}, text = manifest): Effects {
  return { ...memoryEffects(text, logs), stamp: async () => old, ...changes };
}

/** Measures with what is kept in the folder. @returns ids of the runs that were measured, and the figures as text */
async function measure(effects = effectsOf(), build = "build one"): Promise<{ measured: string[]; figures: string }> {
  const measured: string[] = [];
  const counted: typeof inTurn = (jobs, ...rest) => {
    measured.push(...jobs.map(({ declaration }) => declaration.id));
    return inTurn(jobs, ...rest);
  };
  const flown = await measureCampaign("campaign.yaml", {
    effects,
    measureRuns: keptRuns(counted, recordsIn(folder), build),
  });
  return { measured, figures: JSON.stringify(flown.runs) };
}

const records = (): string[] => readdirSync(folder).filter((name) => name.startsWith("run-"));

test("runs that were measured are found again, and their figures are the same to the last byte", async () => {
  const first = await measure();
  const again = await measure();
  expect([first.measured, again.measured]).toEqual([["a", "b"], []]);
  expect(again.figures).toBe(first.figures);
});

test("what a person says of a run does not measure it again; what its frames are does", async () => {
  await measure();
  const noted = manifest.replace(
    "configuration: bare",
    "configuration: bare, notes: gusty, exclude: the prop was chipped",
  );
  expect(noted).not.toBe(manifest);
  const said = await measure(effectsOf({}, noted));
  expect(said.measured).toEqual([]);
  expect(said.figures).toContain("the prop was chipped");
  const moved = await measure(effectsOf({}, `${manifest}\ntolerance: 10 mm\n`));
  expect(moved.measured).toEqual(["a", "b"]);
});

test("another program, and logs of other content, are measured again", async () => {
  await measure();
  expect((await measure(effectsOf(), "build two")).measured).toEqual(["a", "b"]);
  const sha256 = async (path: string): Promise<string> => (path === "a.bag" ? "f" : path).padEnd(64, "0");
  expect((await measure(effectsOf({ sha256 }))).measured).toEqual(["a"]);
});

test.each([
  ["cut short", (bytes: Buffer) => bytes.subarray(0, bytes.length / 2)],
  ["empty", () => Buffer.alloc(0)],
  [
    "changed in one bit",
    (bytes: Buffer) => Buffer.from(bytes.map((byte, k) => (k === bytes.length - 9 ? byte ^ 4 : byte))),
  ],
  ["of another run", () => readFileSync(join(folder, records()[1]!))],
])("a record that is %s is noticed, and made again", async (_, damage) => {
  const first = await measure();
  const [name] = records();
  const whole = readFileSync(join(folder, name!));
  writeFileSync(join(folder, name!), damage(whole));
  const again = await measure();
  expect(again.measured).toHaveLength(1);
  expect(again.figures).toBe(first.figures);
  expect((await measure()).measured).toEqual([]);
});

test("a log that was written a moment ago, or while it was measured, is not kept", async () => {
  await measure(effectsOf({ stamp: async () => `${at.getTime() - 500} 1 1 1` }));
  expect(records()).toEqual([]);
  let looks = 0;
  await measure(effectsOf({ stamp: async (path) => (path === "b.bag" ? `1 1 1 ${looks++}` : old) }));
  expect(records()).toHaveLength(1);
});

test("a run whose log cannot be read is tried again", async () => {
  const readLog = async (): Promise<never> => {
    throw new Error("the disk did not answer");
  };
  await measure(effectsOf({ readLog }));
  expect((await measure()).measured).toEqual(["a", "b"]);
});

test("two journeys side by side keep one whole record of each run", async () => {
  const [one, other] = await Promise.all([measure(), measure()]);
  expect(other.figures).toBe(one.figures);
  expect(records()).toHaveLength(2);
  expect((await measure()).measured).toEqual([]);
});

test("a disk that takes nothing costs the records alone", async () => {
  const file = join(folder, "a-file");
  writeFileSync(file, "");
  const measureRuns = keptRuns(inTurn, recordsIn(join(file, "below")), "build");
  const { runs } = await measureCampaign("campaign.yaml", { effects: effectsOf(), measureRuns });
  expect(runs.map(({ used }) => used)).toEqual([true, true]);
  rmSync(file);
});

test("clearing takes records and what a killed process left, and nothing else", async () => {
  await measure();
  writeFileSync(join(folder, "run-x.kept.12345.part"), "half");
  writeFileSync(join(folder, "looks.jsonl"), "not ours");
  expect(await sizeOf(folder)).toMatchObject({ runs: 2 });
  await clear(folder);
  expect(readdirSync(folder).sort()).toEqual([".gitignore", "looks.jsonl"]);
  rmSync(join(folder, "looks.jsonl"));
});

test("what was not used for longest goes first where the folder grows too large", async () => {
  await measure();
  const [first, second] = records();
  utimesSync(join(folder, first!), 1, 1);
  const { bytes } = await sizeOf(folder);
  await recordsIn(folder).trim(bytes - 1);
  expect(records()).toEqual([second]);
});

test("sums of files that did not change are not computed again, not even by the next process, but where all are verified", async () => {
  const asked: string[] = [];
  const sha256 = async (path: string): Promise<string> => {
    asked.push(path);
    return path.padEnd(64, "0");
  };
  const sums = async (changes: Partial<Effects> = {}, verify = false): Promise<string[]> => {
    asked.length = 0;
    const { effects, save } = keptSums(effectsOf({ sha256, ...changes }), { records: recordsIn(folder), verify });
    await Promise.all(["a.bag", "b.bag", "a.bag"].map(effects.sha256));
    await save();
    return [...asked];
  };
  expect(await sums()).toEqual(["a.bag", "b.bag"]);
  expect(await sums()).toEqual([]);
  expect(await sums({}, true)).toEqual(["a.bag", "b.bag"]);
  expect(await sums({ stamp: async (path) => (path === "b.bag" ? "1 1 1 2" : old) })).toEqual(["b.bag"]);
});
