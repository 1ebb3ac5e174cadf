import { describe, expect, test } from "vitest";
import { aloneText, cellFacts, cellRemark } from "../../client/views/answer/boardFacts.ts";
import { withExclusions } from "../../client/views/answerView.ts";
import { numberRows } from "../../client/views/cell/cellNumbers.ts";
import {
  type CellLabels,
  constantTexts,
  equivalenceText,
  flipTexts,
  measuredText,
} from "../../client/views/cell/cellWords.ts";
import type { CellAnswer } from "../../src/contract/api/cellAnswers.ts";
import type { RunRow } from "../../src/contract/api/runAnswers.ts";
import type { Cell } from "../../src/contract/cell.ts";
import { inventedCell } from "./inventedCell.ts";

const labels: CellLabels = {
  baseline: "Arm alone",
  candidate: "Counterweights fitted",
  family: 12,
  decimals: 1,
  runDecimals: 1,
  familyError: 0.05,
  equivalenceError: 0.05,
};
const cell = inventedCell({
  values: [
    [0.0065, 0.0072, 0.0068],
    [0.0055, 0.0052, 0.0054],
  ],
  difference: -0.00137,
  ci95: [-0.00233, -0.00041],
  ci90: [-0.0021, -0.0006],
  ratio: -0.2,
  p: 0.013,
  p_family: 0.12,
});
const answerOf = (of: Cell, without: readonly [string, Cell["verdict"]][] = []): CellAnswer => ({
  cell: of,
  noise: null,
  runs: [],
  permutation: null,
  leave_one_out: without.map(([run, verdict]) => ({
    run,
    verdict,
    difference: null,
    ci95: null,
    p: null,
    p_family: null,
  })),
  all_runs: null,
  power: null,
});

describe("what is said of a cell", () => {
  test("clear of 0 alone, yet not among the family: in place, with both p", () => {
    expect(aloneText(cell, 12)).toBe("clear alone (p 0.013), not among 12 (p 0.12)");
    expect(cellFacts(cell, 12)).toBe("−20 % (−24 to −16 %), 3 v 3");
    expect(aloneText({ ...cell, ci95: [-0.002, 0.001] }, 12)).toBe("");
    expect(aloneText({ ...cell, verdict: "steadier" }, 12)).toBe("");
    expect(cellFacts({ ...cell, verdict: "steadier", p_family: 0.021 }, 12)).toBe(
      "−20 % (−24 to −16 %), 3 v 3, p 0.021",
    );
  });

  test("the measurement, with both labels, both means and the interval", () => {
    expect(measuredText(cell, labels)).toBe(
      "The mean rms error is 5.4 mm with “Counterweights fitted” (3 runs) and 6.8 mm with “Arm alone” (3 runs). Difference: −1.4 mm, 95 % interval [−2.3, −0.4] mm, −20 % (−24 to −16 %).",
    );
  });

  test("a side without runs is said, not left blank", () => {
    const none = {
      ...cell,
      candidate: { n: 0, mean: null, sd: null, values: [], runs: [] },
      difference: null,
      ci95: null,
    };
    const text = measuredText(none, labels);
    expect(text).toBe(
      "The mean rms error is 6.8 mm with “Arm alone” (3 runs). There is no run with “Counterweights fitted” that counts and has this measure. So there is no difference to show.",
    );
  });

  test("equivalence: inside, across and beyond the smallest difference are distinguished", () => {
    expect(equivalenceText({ ...cell, ci90: [-0.0009, 0.0004] }, labels)).toContain("lies inside ±1.5 mm");
    expect(equivalenceText(cell, labels)).toContain("reaches beyond ±1.5 mm");
    expect(equivalenceText({ ...cell, ci90: [-0.0044, -0.0028] }, labels)).toContain("lies wholly outside ±1.5 mm");
    // -1.52 mm reads -1.5 in one decimal, as if it lay on the limit it goes beyond
    expect(equivalenceText({ ...cell, ci90: [-0.00152, 0.0011] }, labels)).toContain(
      "[−1.52, +1.10] mm reaches beyond",
    );
    expect(equivalenceText({ ...cell, smallest_difference: null }, labels)).toContain(
      "No smallest difference is declared",
    );
  });

  test("what would flip it: the runs that decide, by the verdict they would lead to", () => {
    const steadier: Cell = { ...cell, verdict: "steadier", p_family: 0.021 };
    const texts = flipTexts(
      answerOf(steadier, [
        ["flight-02", "within the noise"],
        ["flight-03", "steadier"],
        ["flight-09", "within the noise"],
      ]),
      labels,
    );
    expect(texts[0]).toBe("Without any one of flight-02 and flight-09 it would be “within the noise”.");
    expect(texts.at(-1)).toBe("It is no longer a claim where p among the family reaches 0.05; it is 0.021.");
    const firm = flipTexts(
      answerOf(
        steadier,
        ["flight-02", "flight-03"].map((id) => [id, "steadier"]),
      ),
      labels,
    );
    expect(firm[0]).toBe("No single run decides it: without any one of the 2 runs it stays “steadier”.");
  });

  test("an exploratory cell has no verdict to flip", () => {
    expect(flipTexts(answerOf({ ...cell, verdict: null }), labels)).toEqual([
      "There is no verdict to change: this cell is exploratory.",
    ]);
  });

  test("remarks beneath the board: fragility first, else what the excluded runs would change", () => {
    expect(cellRemark({ ...cell, fragile: ['without bare-1 it would be "within the noise"'] })?.word).toBe("fragile");
    expect(cellRemark({ ...cell, verdict_all_runs: "steadier" })?.text).toBe(
      "with the excluded runs put back: steadier",
    );
    expect(cellRemark({ ...cell, verdict_all_runs: "within the noise" })).toBeNull();
  });
});

describe("both ways: with and without a person's exclusions", () => {
  const run = (id: string, decision: RunRow["decision"], checks: RunRow["checks"] = []): RunRow =>
    ({ id, decision, checks }) as RunRow;
  const left = { source: "exclusions.yaml", include: false, reason: "arm jammed", at: null } as const;

  test("are not mentioned where nobody excluded a run", () => {
    expect(withExclusions([cell], [run("flight-01", null)])).toBe("");
    expect(withExclusions([cell], [run("flight-01", { ...left, include: true })])).toBe("");
  });

  test("are reported where they agree, and cell by cell where they do not", () => {
    const runs = [run("flight-01", left)];
    expect(withExclusions([{ ...cell, verdict_all_runs: "within the noise" }], runs)).toContain("every verdict stays");
    expect(withExclusions([{ ...cell, verdict_all_runs: "steadier" }], runs)).toBe(
      "With flight-01 put back, which a person excluded, 1 verdict would be another: orbit, vehicle along y would be “steadier” instead of “within the noise”.",
    );
  });
});

test("the constant offset of a cell, and what the spread about it says, in words", () => {
  const constant = {
    share: 0.62,
    common: 0.0123,
    step: 0.009,
    step_ci95: [0.008, 0.01] as [number, number],
    block_step: 0.002,
    sd: { difference: -0.0004, ci95: [-0.0009, 0.0001] as [number, number], p: 0.012 },
    synchronous: { difference: -0.0001, ci95: null, p: null },
    role: "explains" as const,
  };
  expect(constantTexts({ ...cell, constant }, labels)).toEqual([
    "The difference is one of constant offset, not of steadiness: the mean error steps by +9.0 mm with the configuration, the spread about it by −0.4 mm (p 0.012). A constant offset carries 62 % of the mean square.",
    "The mean error steps by +9.0 mm with the configuration, 95 % interval [+8.0, +10.0] mm.",
    "Between blocks the mean error steps by up to 2.0 mm.",
    "No offset enters the part that is in step with the arm: it differs by −0.1 mm.",
  ]);
  expect(constantTexts(cell, labels)).toEqual([]);
  const none = { ...constant, share: 0, role: null };
  expect(constantTexts({ ...cell, constant: none }, labels)[0]).toMatch(/^The runs have no offset in common/);
  const numbers = numberRows({ ...cell, constant }, labels);
  expect(numbers).toContainEqual(["Step of the mean error, candidate − baseline", "+9.0 mm", 0.009]);
});
