import { expect, test } from "vitest";
import type { Audit } from "../../src/contract/audit.ts";
import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import { auditFindings, auditLetters } from "../../src/report/audit/auditFindings.ts";
import { auditText } from "../../src/report/auditText.ts";
import { type TextFrame, textStyle, textWidth } from "../../src/report/text/layout.ts";
import { inventedRun } from "../support/inventedEvaluation.ts";

const frame = (width = 80, colour = false): TextFrame => ({ width, style: textStyle(colour) });

const counts = { filed: 5, used: 4, unusable: 1, excluded: 0, aborted: 0, put_back: 0 };
const own: Audit["configurations"][string] = {
  runs: counts,
  batteries: { "pack-A": 3 },
  battery_unknown: 1,
  takeoff_mass: { n: 4, mean: 4.6, sd: 0.006, least: 4.59, most: 4.61 },
  added_mass: null,
  counterweights_mass: null,
  valid_fraction: { vehicle: 0.995, effector: 1 },
  checks: { frozen: 1 },
};
const audit: Audit = {
  blocks: [
    {
      trajectory: "orbit",
      block: "day1",
      configurations: {
        bare: { filed: 3, used: 2, heading: 0 },
        weighted: { filed: 2, used: 2, heading: Math.PI / 2 },
      },
    },
    { trajectory: "orbit", block: null, configurations: { bare: { filed: 2, used: 2, heading: null } } },
  ],
  order: [
    {
      trajectory: "orbit",
      source: "started",
      sequence: ["bare", "weighted", "weighted", "bare", "bare"],
      runs: ["run-1", "run-2", "run-3", "run-4", "run-5"],
      places: [1, 2, 4, 5, 6],
      later: -1.5,
      faked: -0.03,
      drift: [
        {
          subject: "vehicle",
          axis: "x",
          metric: "rms",
          slope: 0.0002,
          slope_ci95: [0.0001, 0.0003],
          slope_share: 0.04,
          p: 0.0123,
          faked: -0.0003,
        },
      ],
    },
  ],
  configurations: {
    bare: own,
    weighted: {
      ...own,
      added_mass: 0.54,
      counterweights_mass: 0.54,
      takeoff_mass: { ...own.takeoff_mass, mean: 5.14 },
    },
    ballast: {
      ...own,
      runs: { ...counts, aborted: 2 },
      takeoff_mass: { n: 0, mean: null, sd: null, least: null, most: null },
    },
  },
  sham: [
    {
      trajectory: "orbit",
      subject: "effector",
      axis: "z",
      metric: "rms",
      values: [0.004, 0.005],
      runs: ["run-6", "run-7"],
      balancing: { runs: [2, 2], difference: -0.00123, se: 0.0002, df: 2, ci95: [-0.00223, -0.00023], p: 0.03 },
      mass: { runs: [3, 2], difference: 0.0004, se: null, df: null, ci95: null, p: null },
    },
  ],
  parameters: [],
  findings: [
    { code: "order-drift", severity: "doubt", message: "orbit: came 1.5 later", evidence: {}, hint: "fly mirrored" },
    { code: "one-block", severity: "note", message: "one block\u001b[2J only", evidence: {}, hint: "fly again" },
  ],
};

function evaluation(changes: Partial<CampaignEvaluation> = {}): CampaignEvaluation {
  const label = (text: string) => ({ label: text, added_mass: null, counterweights: [] });
  return {
    settings: {
      primary: "rms",
      thresholds: { audit_drift_per_run: 0.02 },
      judged_in: {},
      baseline: "bare",
      candidate: "weighted",
      sham: "ballast",
      configurations: {
        bare: label("Arm alone"),
        weighted: label("Counterweights fitted"),
        ballast: label("Same mass at the centre"),
      },
    },
    runs: audit.order[0]!.runs.map((id, i) => inventedRun({ id, block: i < 3 ? "day1" : "day2" })),
    fitted: [
      { what: "tool point", on: "declared in the manifest", value: "[0, 0, -45] mm", moved: null },
      { what: "run run-1: clock mocap", on: "whole run", value: "offset -137 ms", moved: 0.02 },
      { what: "run run-2: clock mocap", on: "whole run", value: "offset -136 ms", moved: 0.0467 },
    ],
    looks: { count: 3, first: "2026-11-27T07:49:06.594Z", recorded: true },
    audit,
    ...changes,
  } as unknown as CampaignEvaluation;
}

test("findings in short: doubts with what to do, notes without; nothing steers the terminal", () => {
  expect(auditFindings(evaluation(), frame())).toEqual([
    "What else could have made the difference",
    "  doubt: order-drift: orbit: came 1.5 later",
    "    what to do: fly mirrored",
    "  note: one-block: one block\\x1b[2J only",
  ]);
  expect(auditFindings(evaluation(), frame(), { hints: true }).at(-1)).toBe("    what to do: fly again");
});

test("no finding is said to be just that", () => {
  const lines = auditFindings({ audit: { ...audit, findings: [] } }, frame());
  expect(lines.join(" ")).toMatch(/No finding on blocks, .*, as far as they are declared\.$/);
});

test("the whole audit: letters, blocks, order, masses, sham, looks and what was fitted", () => {
  const text = auditText(evaluation(), frame()).join("\n");
  const flowing = text.replace(/\s+/g, " ");
  expect(flowing).toContain("BAR Arm alone, baseline; W Counterweights fitted, candidate; BAL Same mass at the centre");
  expect(text).toMatch(/ {2}day1 +2 of 3, 0° +2 of 2, 90° +–\n {2}no block +2 of 2 +–/);
  expect(flowing).toContain("by the declared starts");
  expect(flowing).toMatch(/would fake 3\.0 %/);
  // 0.2 mm [0.1, 0.3] a flight, -0.3 mm by the order
  expect(text).toMatch(/ {2}vehicle x +0\.200 +0\.100 +0\.300 +0\.012 +-0\.300/);
  expect(text).toMatch(/take-off mass, g +4600 +5140 +–/);
  expect(text).toMatch(/added, declared, g +– +540 +–/);
  expect(text).toMatch(/aborted +0 +0 +2/);
  // half of -2.23 to -0.23 is 1
  expect(text).toMatch(/ {2}effector z +2 +-1\.23 +1\.00 +0\.40 +–/);
  expect(flowing).toContain("Looked at 3 times, first on 2026-11-27");
  expect(flowing).toContain("tool point: [0, 0, -45] mm (declared in the manifest)");
  expect(flowing).toContain("clock mocap: in 2 runs; moved results by up to 46.7 mm");
});

test("drift and sham of errors that are judged in the heading stand under forward, left and up", () => {
  const one = evaluation();
  const judged_in = { orbit: { axes: "heading" as const, apart: 1.5, declared: false } };
  const text = auditText({ ...one, settings: { ...one.settings, judged_in } }, frame()).join("\n");
  expect(text).toMatch(/ {2}vehicle forward +0\.200/);
  expect(text).toMatch(/ {2}effector up +2 +-1\.23/);
  expect(text).not.toMatch(/ {2}(?:vehicle x|effector z) /);
});

test("the order is reported by letters, with a bar between blocks", () => {
  const two = evaluation();
  const { ballast: _, ...configurations } = two.settings.configurations;
  const pair = { ...two, settings: { ...two.settings, sham: null, configurations } };
  const text = auditText(pair, frame()).join("\n");
  expect(text).toContain("orbit: B W W | B B\n");
  expect(text).toContain("B comes 1.50 flights later than W: a drift of 2.0 % a flight would fake 3.0 %");
});

test("letters tell configurations apart, whatever their keys", () => {
  const named = (...keys: string[]): string[] => {
    const configurations = Object.fromEntries(
      keys.map((key) => [key, { label: key, added_mass: null, counterweights: [] }]),
    );
    const settings = { baseline: keys[0]!, candidate: keys[1]!, sham: null, configurations };
    return auditLetters({ settings } as unknown as CampaignEvaluation).map(({ letter }) => letter);
  };
  expect(named("bare", "weighted")).toEqual(["B", "W"]);
  expect(named("bare", "balanced", "weighted")).toEqual(["BAR", "BAL", "W"]);
  // one is the beginning of the other: no letters tell it from the longer one
  expect(named("arm", "arm2")).toEqual(["C1", "C2"]);
  expect(named("arm with weights", "arm without")).toEqual(["C1", "C2"]);
  expect(named("\u001b[2J", "x")).toEqual(["2", "X"]);
});

test("once looked is once, and a look that could not be recorded is said", () => {
  const once = evaluation({ looks: { count: 1, first: null, recorded: false } });
  expect(auditText(once, frame()).join(" ")).toContain("Looked at once. This look could not be recorded");
});

test("an audit of nothing is readable, and no line passes the width", () => {
  const nothing: Audit = { blocks: [], order: [], configurations: {}, sham: [], parameters: [], findings: [] };
  expect(auditText(evaluation({ audit: nothing, fitted: [] }), frame()).join("\n")).not.toMatch(/undefined|NaN|null/);
  for (const width of [60, 80, 100]) {
    for (const line of auditText(evaluation(), frame(width))) expect(textWidth(line)).toBeLessThanOrEqual(width);
  }
});

test("colour carries nothing that the words do not", () => {
  // biome-ignore lint/suspicious/noControlCharactersInRegex: the marks of colour are control characters
  const bare = auditText(evaluation(), frame(80, true)).map((line) => line.replace(/\u001b\[\d+m/g, ""));
  expect(bare).toEqual(auditText(evaluation(), frame()));
});
