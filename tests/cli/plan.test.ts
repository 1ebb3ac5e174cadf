import { linkSync, mkdtempSync, readdirSync, readFileSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { commands } from "../../src/cli/commandList.ts";
import { plan } from "../../src/cli/commands/plan.ts";
import { runCli } from "../../src/cli/runCli.ts";
import { compareCampaign } from "../../src/comparison/compareCampaign.ts";
import { flightDaySchema, planSchema } from "../../src/contract/plan.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { CounterpoiseError, ManifestError } from "../../src/foundation/errors.ts";
import { type PlanWishes, planOf } from "../../src/pipeline/planFlights.ts";
import { writePlanFiles } from "../../src/pipeline/writeEvaluation.ts";
import { inventedCampaign, inventedRuns } from "../support/inventedCampaign.ts";
import { inventedEvaluation } from "../support/inventedEvaluation.ts";
import { capturedTerminal } from "./captured.ts";

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "counterpoise-"));
  writeFileSync(join(folder, "campaign.yaml"), "title: x\n");
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const runs = inventedRuns(
  [4, 5, 6, 3].map((mm, i) => ({ configuration: i % 2 === 0 ? "bare" : "weighted", block: "day1", value: mm / 1000 })),
);
const campaign = inventedCampaign(runs);
const cells = compareCampaign(campaign, runs, defaultSettings);
/** what the campaign calls its own, there or not */
const ownNames = ["campaign.yaml", "flights.csv", "evaluation.json", "looks.jsonl", "exclusions.yaml", "flight-1.bag"];

/** The program with runs that are already measured; planning and writing are real. */
async function run(args: string[], fault: Error | null = null, progress = false) {
  const captured = capturedTerminal({ progress });
  const asked: PlanWishes[] = [];
  const known = commands.map((command) => ({
    ...command,
    load: async () => (input: Parameters<typeof plan>[0], to: Parameters<typeof plan>[1]) =>
      plan(input, to, {
        campaignFiles: async () => ownNames.map((name) => join(folder, name)),
        planFlights: async (_manifest, { wish = {}, onProgress } = {}) => {
          asked.push(wish);
          onProgress?.({ done: 1, total: 4, run: "run-2", stage: "measuring" });
          if (fault !== null) throw fault;
          return { ...planOf(campaign, { runs, cells }, wish), evaluation: inventedEvaluation() };
        },
        writePlanFiles,
      }),
  }));
  const code = await runCli(["plan", ...args], captured, { commands: known });
  return { code, asked, stdout: captured.stdout(), stderr: captured.stderr() };
}

test("plan prints what to fly and writes nothing that was not asked for", async () => {
  const { code, stdout, stderr } = await run([folder]);
  expect({ code, stderr }).toEqual({ code: 0, stderr: "" });
  expect(stdout).toMatch(/^What to fly next\n/);
  expect(stdout).toMatch(/prevail\.\n$/);
  expect(readdirSync(folder)).toEqual(["campaign.yaml"]);
});

test("options reach the plan; --json prints plan and day and nothing else", async () => {
  const args = [folder, "--runs", "6", "--blocks", "3", "--seed", "9", "--json", "--csv", join(folder, "next.csv")];
  const { code, asked, stdout, stderr } = await run(args, null, true);
  expect({ code, stderr }).toEqual({ code: 0, stderr: "" });
  expect(asked).toEqual([{ runs: 6, blocks: 3, seed: 9, sham: false }]);
  const found = JSON.parse(stdout);
  expect(Object.keys(found)).toEqual(["plan", "day"]);
  expect(planSchema.parse(found.plan)).toMatchObject({ runs_to_fly: 6, blocks: 3 });
  expect(flightDaySchema.parse(found.day)).toMatchObject({ seed: 9, runs_per_configuration: 6 });
  expect(readFileSync(join(folder, "next.csv"), "utf8")).toBe(found.day.runs_csv);
});

test("cards and table are written where asked, and may be written again", async () => {
  const cards = join(folder, "cards.html");
  const csv = join(folder, "next.csv");
  const args = [folder, "--cards", cards, "--csv", csv];
  const { stdout } = await run(args);
  expect(stdout).toContain(`\n\nWritten: ${cards}\nWritten: ${csv}\n`);
  expect(readFileSync(cards, "utf8")).toMatch(/^<!doctype html>/);
  expect(readFileSync(csv, "utf8")).toMatch(/^id,log,configuration,trajectory,block,battery/);
  expect(readdirSync(folder).sort()).toEqual(["campaign.yaml", "cards.html", "next.csv"]);
  const before = readFileSync(csv, "utf8");
  expect((await run([...args, "--seed", "1"])).code).toBe(0);
  expect(readFileSync(csv, "utf8")).not.toBe(before);
});

test("a table in which somebody has written is kept", async () => {
  const csv = join(folder, "next.csv");
  await run([folder, "--csv", csv]);
  const filled = readFileSync(csv, "utf8").replace(/,,,/, ",4.6 kg,,");
  writeFileSync(csv, filled);
  const { code, stderr, asked } = await run([folder, "--csv", csv]);
  expect(code).toBe(2);
  expect(stderr).toContain("no untouched table of planned runs");
  expect(asked).toEqual([]);
  expect(readFileSync(csv, "utf8")).toBe(filled);
});

test("the campaign's own files are never written over, there or not, and that is said before the work", async () => {
  await run([folder, "--csv", join(folder, "planned.csv")]);
  const planned = readFileSync(join(folder, "planned.csv"), "utf8");
  // the manifest's runs file may be a table that was planned
  writeFileSync(join(folder, "flights.csv"), planned);
  writeFileSync(join(folder, "page.html"), "<!doctype html>\n<p>mine</p>\n");
  writeFileSync(join(folder, "notes.csv"), "id,log,what\n1,2,3\n");
  symlinkSync(join(folder, "flights.csv"), join(folder, "linked.csv"));
  linkSync(join(folder, "campaign.yaml"), join(folder, "hard.yaml"));
  const kept = readdirSync(folder).map((name) => [name, readFileSync(join(folder, name), "utf8")]);
  for (const option of ["--cards", "--csv"])
    for (const [name, words] of [
      ["campaign.yaml", "found campaign.yaml, which belongs to the campaign"],
      ["hard.yaml", "found campaign.yaml, which belongs to the campaign"],
      ["flights.csv", "found flights.csv, which belongs"],
      ["linked.csv", "found flights.csv, which belongs"],
      ["evaluation.json", "found evaluation.json, which belongs"],
      ["./looks.jsonl", "found looks.jsonl, which belongs"],
      ["exclusions.yaml", "found exclusions.yaml, which belongs"],
      ["flight-1.bag", "found flight-1.bag, which belongs"],
      ["page.html", option === "--cards" ? "holds no test cards" : "no untouched table"],
      ["notes.csv", option === "--cards" ? "holds no test cards" : "no untouched table"],
      [".", "found a folder"],
      ["nowhere/x", "found no folder"],
    ] as const) {
      const { code, stdout, stderr, asked } = await run([folder, option, join(folder, name)]);
      expect({ code, stdout, asked }).toEqual({ code: 2, stdout: "", asked: [] });
      expect(stderr).toContain(words);
    }
  expect(readdirSync(folder).map((name) => [name, readFileSync(join(folder, name), "utf8")])).toEqual(kept);
});

test("one file cannot hold both, and - is no file", async () => {
  const same = await run([folder, "--cards", join(folder, "a"), "--csv", join(folder, ".", "a")]);
  expect(same).toMatchObject({ code: 2, stderr: expect.stringContaining("the same file for --cards and --csv") });
  expect(await run([folder, "--csv", "-"])).toMatchObject({ code: 2, stderr: expect.stringContaining("found -") });
});

test.each([
  [["--runs", "few"], "found --runs few, expected a whole number from 2"],
  [["--runs", "1"], "found --runs 1"],
  [["--runs=-3"], "found --runs -3"],
  [["--runs", "2.5"], "found --runs 2.5"],
  [["--blocks", "0"], "found --blocks 0"],
  [["--seed", "4294967296"], "found --seed 4294967296"],
  [["--runs", "2", "--blocks", "3"], "at most as many blocks as runs"],
  [["--sham"], "found no sham configuration"],
  [["--cards"], "found --cards without a value"],
  [["--card", "x"], "did you mean --cards?"],
])("%j is the command line's fault", async (args, words) => {
  const { code, stdout, stderr } = await run([folder, ...args]);
  expect({ code, stdout }).toEqual({ code: 2, stdout: "" });
  expect(stderr).toContain(words);
});

test("a faulty manifest and a disk that refuses are code 2, a fault of the tool code 3; nothing is printed", async () => {
  const cases = [
    [new ManifestError("manifest-invalid", "wrong"), 2],
    [new CounterpoiseError("not-written", "full"), 2],
    [new RangeError("oops"), 3],
  ] as const;
  for (const [fault, code] of cases)
    expect(await run([folder, "--json", "--csv", join(folder, "n.csv")], fault)).toMatchObject({ code, stdout: "" });
  expect(readdirSync(folder)).toEqual(["campaign.yaml"]);
});

test("a folder without a manifest is refused", async () => {
  rmSync(join(folder, "campaign.yaml"));
  expect(await run([folder])).toMatchObject({ code: 2, stderr: expect.stringContaining("without campaign.yaml") });
});

test("progress is shown on a terminal and wiped", async () => {
  const wipe = `\r${String.fromCharCode(27)}[K`;
  expect((await run([folder], null, true)).stderr).toBe(`${wipe}1 of 4 runs: run-2, measuring${wipe}`);
});

test("some trajectories alone are flown where they are named; one that nobody declared is refused", async () => {
  const { code, asked, stdout } = await run([folder, "--trajectories", " orbit "]);
  expect(code).toBe(0);
  expect(asked[0]!.trajectories).toEqual(["orbit"]);
  expect(stdout).toContain("orbit");
  const refused = await run([folder, "--trajectories", "orbti"]);
  expect(refused.code).toBe(2);
  expect(refused.stderr).toContain('found the trajectory "orbti", expected one of orbit');
  expect((await run([folder, "--trajectories", ""])).code).toBe(2);
});
