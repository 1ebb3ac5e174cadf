import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { compareCampaign } from "../../src/comparison/compareCampaign.ts";
import { flightDaySchema, planSchema } from "../../src/contract/plan.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { campaignFiles } from "../../src/pipeline/campaignFiles.ts";
import { loadCampaign } from "../../src/pipeline/loadCampaign.ts";
import { planFlights, planOf, seedOf } from "../../src/pipeline/planFlights.ts";
import { type PlanDisk, writePlanFiles } from "../../src/pipeline/writeEvaluation.ts";
import { inventedCampaign, inventedRuns } from "../support/inventedCampaign.ts";
import { memoryEffects } from "../support/simulatedCampaign.ts";

const manifest = `title: Tank wall
baseline: bare
candidate: weighted
sham: ballast
smallest_difference: 1.5 mm
configurations: { bare: { label: Arm alone }, weighted: { label: Counterweights }, ballast: { label: Ballast } }
signals:
  vehicle_pose: { topic: /a, clock: mocap }
  vehicle_setpoint: { topic: /b, clock: mocap }
trajectories:
  rest: { shape: hold, duration: 20 s }
static_captures: [still.bag]
runs:
  - { id: flight-1, log: flight-1.bag, configuration: bare, trajectory: rest, block: day1 }
`;

test("logs that are not there yet are planned over assumed spreads, and no look is counted", async () => {
  const written = new Map<string, string>();
  const { plan, day, evaluation } = await planFlights("campaign.yaml", {
    effects: memoryEffects(manifest, {}, written),
  });
  expect(written.size).toBe(0);
  expect(evaluation.runs[0]!.used).toBe(false);
  expect(planSchema.parse(plan).cells).toEqual([]);
  expect(plan.assumed.length).toBeGreaterThan(0);
  // no run counts: the hash of nothing
  expect(flightDaySchema.parse(day).seed).toBe(0x811c9dc5);
  expect(day.cards[1]).toMatchObject({ id: "flight-2", block: "day2" });
  // the sham is declared, and flown only where it is asked for
  expect(day.configurations.map(({ role }) => role)).toEqual(["baseline", "candidate"]);
});

test("a wish reaches plan and day", async () => {
  const wish = { runs: 4, blocks: 2, seed: 7, sham: true };
  const { plan, day } = await planFlights("campaign.yaml", { effects: memoryEffects(manifest, {}), wish });
  expect(plan).toMatchObject({ runs_to_fly: 4, blocks: 2 });
  expect(day).toMatchObject({ runs_per_configuration: 4, blocks: 2, seed: 7 });
  expect(day.configurations.map(({ role }) => role)).toEqual(["baseline", "candidate", "sham"]);
});

test("the table of new runs is what a manifest reads as its runs", async () => {
  const { day } = await planFlights("campaign.yaml", { effects: memoryEffects(manifest, {}), wish: { runs: 3 } });
  const next = `${manifest.slice(0, manifest.indexOf("runs:"))}runs: next.csv\n`;
  const base = memoryEffects(next, {});
  const { campaign } = await loadCampaign("campaign.yaml", {
    ...base,
    size: async (path) => (path === "next.csv" ? day.runs_csv.length : base.size(path)),
    readText: async (path) => (path === "next.csv" ? day.runs_csv : base.readText(path)),
  });
  const flights = day.cards.filter(({ kind }) => kind === "flight");
  expect(
    campaign.runs.map(({ id, configuration, trajectory, block, battery, logs }) => [
      id,
      configuration,
      trajectory,
      block,
      battery,
      logs[""],
    ]),
  ).toEqual(
    flights.map(({ id, configuration, trajectory, block, battery, log }) => [
      id,
      configuration,
      trajectory,
      block,
      battery,
      [log],
    ]),
  );
});

test("the manifest reader refuses a list without runs: one has to be declared, flown or not", async () => {
  const empty = `${manifest.slice(0, manifest.indexOf("runs:"))}runs: []\n`;
  await expect(planFlights("campaign.yaml", { effects: memoryEffects(empty, {}) })).rejects.toThrow(/found 0 runs/);
});

test("the seed follows from the runs that count, and is the same until then", () => {
  const made = (excluded: boolean) => {
    const runs = inventedRuns([
      { configuration: "bare", block: "day1", value: 0.004 },
      { configuration: "weighted", block: "day1", value: 0.003, exclude: excluded ? "arm jammed" : null },
    ]);
    const campaign = inventedCampaign(runs);
    return planOf(campaign, { runs, cells: compareCampaign(campaign, runs, defaultSettings) }).day.seed;
  };
  expect(made(false)).toBe(seedOf(["run-1", "run-2"]));
  expect(made(false)).toBe(made(false));
  expect(made(true)).toBe(seedOf(["run-1"]));
});

/** Test vectors of FNV-1a, 32 bits, of the draft's appendix C, from memory: "", "a", "foobar". */
test.each([
  [[""], 0x811c9dc5],
  [["a"], 0xe40c292c],
  [["foobar"], 0xbf9cf968],
])("seed of %j", (names, hash) => {
  expect(seedOf(names)).toBe(hash);
});

test("the files of a campaign are its manifest, logs, captures and what is kept beside it", async () => {
  expect(
    (
      await campaignFiles("day/campaign.yaml", {
        ...memoryEffects(manifest, {}),
        size: async (path) => (path === "day/campaign.yaml" ? 1 : null),
        readText: async () => manifest,
      })
    ).sort(),
  ).toEqual([
    "day/campaign.yaml",
    "day/evaluation.json",
    "day/exclusions.yaml",
    "day/flight-1.bag",
    "day/looks.jsonl",
    "day/still.bag",
  ]);
});

describe("writePlanFiles", () => {
  const files = [
    { path: "cards.html", text: "cards" },
    { path: "next.csv", text: "csv" },
  ];
  const disk = (changes: Partial<PlanDisk>) => {
    const done: string[] = [];
    const own: PlanDisk = {
      write: async (path) => void done.push(`write ${path.replace(/\.\d+\.part/, ".part")}`),
      rename: async (_from, to) => void done.push(`rename ${to}`),
      remove: async (path) => void done.push(`remove ${path.replace(/\.\d+\.part/, ".part")}`),
      ...changes,
    };
    return { done, own };
  };
  const full = async (): Promise<void> => {
    throw new Error("full");
  };

  test("no file is put in its place before all texts are on the disk", async () => {
    const { done, own } = disk({});
    await writePlanFiles(files, own);
    expect(done).toEqual(["write cards.html.part", "write next.csv.part", "rename cards.html", "rename next.csv"]);
  });

  test("a disk that is full leaves nothing behind", async () => {
    const { done, own } = disk({});
    let count = 0;
    const second = async (path: string): Promise<void> => (++count === 2 ? full() : own.write(path, ""));
    await expect(writePlanFiles(files, { ...own, write: second })).rejects.toMatchObject({
      code: "not-written",
      place: "next.csv",
      message: expect.stringContaining("nothing was written"),
    });
    expect(done).toEqual(["write cards.html.part", "remove cards.html.part", "remove next.csv.part"]);
  });

  test("what was written before the disk refused is said", async () => {
    const { own } = disk({ rename: async (_from, to) => (to === "next.csv" ? full() : undefined) });
    await expect(writePlanFiles(files, own)).rejects.toThrow("full; only cards.html was written");
  });

  test("on a real disk the files are there and no others", async () => {
    const folder = mkdtempSync(join(tmpdir(), "counterpoise-"));
    try {
      writeFileSync(join(folder, "cards.html"), "old");
      await writePlanFiles(files.map(({ path, text }) => ({ path: join(folder, path), text })));
      expect(readdirSync(folder).sort()).toEqual(["cards.html", "next.csv"]);
      expect(readFileSync(join(folder, "cards.html"), "utf8")).toBe("cards");
    } finally {
      rmSync(folder, { recursive: true, force: true });
    }
  });
});
