import { expect, test } from "vitest";
import { campaignCheckSchema } from "../../src/contract/look.ts";
import { checkCampaign } from "../../src/pipeline/checkCampaign.ts";
import { evaluateCampaign } from "../../src/pipeline/evaluateCampaign.ts";
import { configurationLetters, withoutNames } from "../../src/pipeline/loadCampaign.ts";
import { checkSentences } from "../../src/report/doubtSentences.ts";
import type { SimulatedFlight } from "../../src/simulation/simulateFlight.ts";
import { errorNumbers } from "../support/errorNumbers.ts";
import { memoryEffects } from "../support/simulatedCampaign.ts";
import { shortFlight, shortManifest } from "./shortCampaign.ts";

const logs: Record<string, SimulatedFlight> = Object.fromEntries(
  [1, 2, 3, 4, 5, 6].map((seed) => [`run-${seed}.bag`, shortFlight(seed)]),
);
const runs = Object.keys(logs).map((log, k) => ({
  log,
  id: log.replace(".bag", ""),
  configuration: k < 3 ? "bare" : "weighted",
  trajectory: "orbit",
}));
const manifest = shortManifest(runs);
const written = new Map<string, string>();
const check = (text = manifest) => checkCampaign("campaign.yaml", { effects: memoryEffects(text, logs, written) });

test("a check holds the runs' checks, clocks and windows, and no number of an error or a difference", async () => {
  const evaluation = await evaluateCampaign("campaign.yaml", { effects: memoryEffects(manifest, logs), look: false });
  const { check: found } = await check();
  expect(campaignCheckSchema.parse(found)).toEqual(found);
  expect(found.runs.map(({ id, checks, clocks, windows }) => ({ id, checks, clocks, windows }))).toEqual(
    evaluation.runs.map(({ id, checks, clocks, windows }) => ({ id, checks, clocks, windows })),
  );
  const text = JSON.stringify(found);
  const errors = errorNumbers(evaluation);
  // six runs, two subjects, four columns, eight figures at the least
  expect(errors.length).toBeGreaterThan(6 * 2 * 4 * 8);
  expect(errors.filter((number) => text.includes(number))).toEqual([]);
  for (const name of ["bare", "weighted", "Arm alone", "Counterweights fitted"]) expect(text).not.toContain(name);
});

test("a check writes nothing: no look is counted", async () => {
  await check();
  expect([...written.keys()]).toEqual([]);
});

test("what a person accepts is taken in a check as in an evaluation, and its reason names no configuration", async () => {
  // 0.6 m from where the setpoint is: a doubt about the frames on every run
  const moved = manifest.replace(/^( {2}body_point: ).*$/m, "$1[0 mm, 600 mm, 0 mm]");
  const open = await check(moved);
  const found = open.check.runs.flatMap(({ checks }) => checks.filter(({ code }) => code === "frame-suspect"));
  expect(found.length).toBeGreaterThanOrEqual(6);
  expect(checkSentences(open.check)[0]).toBe("All 6 runs can be used, 6 of them with doubts.");
  const entry = (evidence: string): string =>
    `${moved.trimEnd()}\naccept: [{ check: frame-suspect, runs: all, because: "as bare was surveyed"${evidence} }]\n`;
  const asked = (await check(entry(""))).check.audit.findings.find(({ code }) => code === "accept-open")!;
  const { check: taken } = await check(entry(`, ${/`(evidence: \{.*\})`/.exec(asked.hint)![1]!}`));
  expect(taken.audit.findings.map(({ code }) => code)).toContain("accepted");
  expect(taken.runs.flatMap(({ checks }) => checks.map((one) => one.accepted_because ?? ""))).toContain(
    "as … was surveyed",
  );
  expect(checkSentences(taken)[0]).toBe("All 6 runs can be used, none of them with doubts.");
  expect(JSON.stringify(taken)).not.toContain("bare");
});

test("the letters are the same for the same logs, whatever else of the manifest is mended or turned round", async () => {
  const first = await check();
  const mended = await check(manifest.replace(/search: [\d.]+ s/, "search: 1 s"));
  const turned = await check(shortManifest([...runs].reverse()));
  expect([...mended.letters]).toEqual([...first.letters]);
  expect([...turned.letters]).toEqual([...first.letters]);
});

test("the letters are drawn: over many campaigns each order comes about as often as the other", () => {
  const configurations = { bare: {}, weighted: {} } as never;
  const first = Array.from({ length: 400 }, (_, k) => configurationLetters({ configurations }, `${k}`).get("bare"));
  // 400 tosses of a coin: 200 with a standard deviation of 10
  const share = first.filter((letter) => letter === "A").length;
  expect(share).toBeGreaterThan(160);
  expect(share).toBeLessThan(240);
});

test("runs that bear the name of their configuration are named, and a person's words lose it", async () => {
  const telling = runs.map((run, k) => (k === 0 ? { ...run, id: "Bare-01" } : run));
  const { check: found } = await check(shortManifest(telling));
  expect(found.named).toEqual(["Bare-01"]);
  const configurations = { bare: { label: "Arm alone" }, "w (2)": { label: "Weights" } } as never;
  expect(withoutNames("bare again, arm alone; barely windy, W (2)", { configurations })).toBe(
    "… again, …; barely windy, …",
  );
});
