import { expect, test } from "vitest";
import { auditCampaign } from "../../src/comparison/audit/auditCampaign.ts";
import { evidenceText, withAccepted } from "../../src/comparison/cellDoubts.ts";
import type { AuditFinding } from "../../src/contract/audit.ts";
import type { Acceptance } from "../../src/contract/campaign.ts";
import type { RunEvaluation } from "../../src/contract/evaluation.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import type { Check } from "../../src/foundation/checks.ts";
import { checkEvaluation } from "../../src/pipeline/writeEvaluation.ts";
import { inventedCampaign } from "../support/inventedCampaign.ts";
import { inventedRun } from "../support/inventedEvaluation.ts";

const off = (x: number, y = 0.001, changes: Partial<Check> = {}): Check => ({
  code: "frame-suspect",
  severity: "doubt",
  message: `the vehicle stands ${x} m from its setpoint on average`,
  evidence: { off_x_m: x, off_y_m: y, poses: 3200, at_s: 3 },
  hint: "look",
  ...changes,
});
const run = (id: string, ...checks: Check[]): RunEvaluation => inventedRun({ id, checks: checks.map(checkEvaluation) });
const entry = (changes: Partial<Acceptance> = {}): Acceptance => ({
  check: "frame-suspect",
  runs: "all",
  because: "surveyed on site",
  evidence: { off_x_m: [0.4, 0.42] },
  ...changes,
});
const taken = (accept: Acceptance[], ...runs: RunEvaluation[]): (string | null)[] =>
  withAccepted(accept, runs).flatMap(({ checks }) => checks.map((check) => check.accepted_because));

test("a finding is taken while its figures are within 20 % of what was accepted, and speaks again beyond", () => {
  const runs = [0.33, 0.325, 0.41, 0.5, 0.51].map((x, i) => run(`run-${i}`, off(x)));
  // 0.42 is the largest accepted: 0.084 beside either end, 0.316 to 0.504
  expect(taken([entry()], ...runs)).toEqual([...Array(4).fill("surveyed on site"), null]);
  expect(taken([entry({ evidence: { off_x_m: [0.5, 0.5] } })], ...runs)).toEqual([
    null,
    null,
    "surveyed on site",
    "surveyed on site",
    "surveyed on site",
  ]);
});

test("the small part of a vector is held against the large one, not against itself", () => {
  const vector = entry({ evidence: { off_x_m: [0.4, 0.4], off_y_m: [0.001, 0.001] } });
  expect(taken([vector], run("a", off(0.41, -0.02)))).toEqual(["surveyed on site"]);
  expect(taken([vector], run("a", off(0.41, 0.2)))).toEqual([null]);
});

test("of named runs and that code alone; never what makes a run unusable, and never without a figure", () => {
  const named = entry({ runs: ["a"] });
  expect(taken([named], run("a", off(0.4)), run("b", off(0.4)))).toEqual(["surveyed on site", null]);
  expect(taken([entry()], run("a", off(0.4, 0, { code: "jump" })))).toEqual([null]);
  expect(taken([entry()], run("a", off(0.4, 0, { severity: "unusable" })))).toEqual([null]);
  expect(taken([entry({ evidence: {} })], run("a", off(0.4)))).toEqual([null]);
  expect(taken([entry({ evidence: { off_w_m: [0.4, 0.4] } })], run("a", off(0.4)))).toEqual([null]);
});

test("words are taken as they were", () => {
  const copied: Check = { ...off(0), code: "copied", evidence: { same_as: "b" } };
  const words = entry({ check: "copied", evidence: { same_as: "b" } });
  expect(taken([words], run("a", copied))).toEqual(["surveyed on site"]);
  expect(taken([words], run("a", { ...copied, evidence: { same_as: "c" } }))).toEqual([null]);
});

test("the figures to write are those that say how large the fault is, over all its runs", () => {
  const checks = [off(0.41234, -0.002), off(0.398, 0.001)].map(checkEvaluation);
  expect(evidenceText(checks)).toBe("{ off_x_m: [0.398, 0.412], off_y_m: [-0.002, 0.001] }");
});

test("the audit says what was taken and why, and gives the figures where nothing was", () => {
  const runs = [run("a", off(0.4)), run("b", off(0.41)), run("c", off(0.9))];
  const findings = (accept: Acceptance[]): AuditFinding[] =>
    auditCampaign(inventedCampaign(runs, { accept }), runs, [], { count: 1 }, defaultSettings).findings.filter(
      ({ code }) => code.startsWith("accept"),
    );
  const [open, note] = findings([entry()]);
  expect(note).toMatchObject({ code: "accepted", severity: "note", evidence: { runs: ["a", "b"] } });
  expect(note!.message).toBe('frame-suspect on 2 runs is taken as it is: "surveyed on site"');
  expect(open).toMatchObject({ code: "accept-open", severity: "doubt", evidence: { runs: ["c"] } });
  expect(open!.hint).toContain("`evidence: { off_x_m: 0.9, off_y_m: 0.001 }`");
  const [bare] = findings([entry({ evidence: {} })]);
  expect(bare!.message).toContain("takes nothing yet");
  expect(bare!.hint).toContain("`evidence: { off_x_m: [0.4, 0.9], off_y_m: 0.001 }`");
  expect(findings([entry({ check: "gap" })])).toMatchObject([{ code: "accept-open", severity: "note" }]);
  expect(findings([])).toEqual([]);
});
