import { expect, test } from "vitest";
import type { RunEvaluation } from "../../src/contract/evaluation.ts";
import type { Check } from "../../src/foundation/checks.ts";
import { checkEvaluation } from "../../src/pipeline/writeEvaluation.ts";
import { answerSentences } from "../../src/report/answerSentence.ts";
import { findingsText } from "../../src/report/findingsText.ts";
import { textStyle } from "../../src/report/text/layout.ts";
import { verdictBoard } from "../../src/report/verdictBoard.ts";
import { groupedFindings } from "../../src/words/findingWords.ts";
import { inventedEvaluation, inventedFamily, inventedRun } from "../support/inventedEvaluation.ts";

const off = (metres: string): Check => ({
  code: "frame-suspect",
  severity: "doubt",
  message: `the vehicle stands ${metres} m from its setpoint on average`,
  evidence: {},
  hint: "check the origin of the capture (`frames: onboard`, per block)",
});
const runWith = (id: string, ...checks: Check[]): RunEvaluation =>
  inventedRun({ id, checks: checks.map(checkEvaluation) });

test("one finding of several runs is one line, with its least and largest figure", () => {
  const runs = [runWith("flight-1", off("1.80")), runWith("flight-2", off("1.75")), runWith("flight-3", off("1.83"))];
  expect(groupedFindings(runs, () => true)).toEqual([
    {
      checks: runs.flatMap(({ checks }) => checks),
      code: "frame-suspect",
      severity: "doubt",
      hint: off("").hint,
      message: "the vehicle stands 1.75 to 1.83 m from its setpoint on average",
      runs: ["flight-1", "flight-2", "flight-3"],
    },
  ]);
});

test("figures within names keep findings apart, and so do other words, codes and severities", () => {
  const of = (message: string, changes: Partial<Check> = {}): Check => ({ ...off("1"), message, ...changes });
  const runs = [
    runWith("a", of("/imu/1 stops"), of("run flight-01 is the same")),
    runWith("b", of("/imu/2 stops"), of("run flight-02 is the same")),
    runWith("c", of("/imu/1 stops", { severity: "note" }), of("/imu/1 stops", { code: "gap" })),
  ];
  expect(groupedFindings(runs, () => true)).toHaveLength(6);
});

test("the answer opens with the findings that forbid a claim, the runs that bear them and the keys they point to", () => {
  const cells = inventedFamily(["orbit"], ({ subject, axis }) =>
    subject === "vehicle" && axis === "x"
      ? { verdict: "doubted", doubts: ["frame-suspect"] }
      : { verdict: "no difference that matters", mm: [0.1, -0.5, 0.7] },
  );
  const runs = [1, 2, 3, 4, 5].map((i) => (i < 5 ? runWith(`run-${i}`, off(`1.8${i}`)) : inventedRun({ id: "run-5" })));
  const evaluation = inventedEvaluation({ cells, runs });
  expect(answerSentences(evaluation).slice(0, 2)).toEqual([
    "Doubted, so nothing is claimed: the vehicle along x in orbit.",
    "Found on 4 of 5 runs (run-1, run-2 and 2 more): the vehicle stands 1.81 to 1.84 m from its setpoint on average (frame-suspect; look at `frames: onboard`).",
  ]);
  const board = verdictBoard(evaluation, { width: 80, style: textStyle(false) }).join("\n");
  expect(board).toContain("! doubted");
  expect(board).toContain("[1] orbit, vehicle along x: doubted for frame-suspect.");
});

test("findings that a person took, and findings of other axes, are not what a cell is doubted for", () => {
  const cells = inventedFamily(["orbit"], () => ({ verdict: "doubted", doubts: ["frame-suspect"] }));
  const taken = { ...checkEvaluation(off("0.40")), accepted_because: "surveyed" };
  const runs = [inventedRun({ id: "run-1", checks: [taken] }), runWith("run-2", off("0.50"))];
  const [, found, ...rest] = answerSentences(inventedEvaluation({ cells, runs }));
  expect(found).toContain("on 1 of 2 runs (run-2): the vehicle stands 0.50 m");
  expect(rest.join(" ")).not.toContain("0.40");
});

test("beneath the board a finding of three runs or more stands once, and its runs are not told one by one", () => {
  const gap: Check = { ...off("0"), code: "gap", message: "60 samples are missing", hint: "look for occluded markers" };
  const runs = [1, 2, 3, 4].map((i) => runWith(`run-${i}`, off(`1.8${i}`), ...(i === 1 ? [gap] : [])));
  const text = findingsText(inventedEvaluation({ runs }), { width: 100, style: textStyle(false) }).join("\n");
  expect(text.match(/frame-suspect/g)).toHaveLength(1);
  expect(text).toContain("the vehicle stands 1.81 to 1.84 m from its setpoint on average");
  expect(text).toContain("4 runs: run-1, run-2, run-3, run-4");
  expect(text).toMatch(/run-1 \(Arm alone, orbit.*\)\n {2}doubt: gap: 60 samples are missing/);
  expect(text).not.toMatch(/run-2 \(/);
});
