import fc from "fast-check";
import { expect, test } from "vitest";
import { compareCampaign } from "../../src/comparison/compareCampaign.ts";
import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { answerSentence } from "../../src/report/answerSentence.ts";
import { enteringRuns } from "../../src/report/runGroups.ts";
import { settleText } from "../../src/report/settleText.ts";
import { textStyle } from "../../src/report/text/layout.ts";
import { verdictBoard } from "../../src/report/verdictBoard.ts";
import { inventedCampaign, inventedRuns } from "../support/inventedCampaign.ts";
import { inventedEvaluation } from "../support/inventedEvaluation.ts";

/** Per block: how many runs of the baseline, how many of the candidate. */
type Flown = Readonly<Record<string, readonly [number, number]>>;

/** A campaign flown in these blocks, judged; the runs of a trajectory are of 4 mm and scatter, unless `still`. */
function judged(
  flown: Readonly<Record<string, Flown>>,
  options: { still?: boolean; margin?: number | null } = {},
): CampaignEvaluation {
  const { still = false, margin = null } = options;
  let count = 0;
  const runs = inventedRuns(
    Object.entries(flown).flatMap(([trajectory, blocks]) =>
      Object.entries(blocks).flatMap(([block, [baseline, candidate]]) =>
        Array.from({ length: baseline + candidate }, (_, i) => ({
          configuration: i < baseline ? "bare" : "weighted",
          trajectory,
          block: block === "none" ? null : block,
          // spread without order: multiples of the golden ratio
          value: 0.004 + (still ? 0 : 0.001 * ((++count * 0.618034) % 1)),
        })),
      ),
    ),
  );
  const campaign = inventedCampaign(runs, { smallestDifference: { vehicle: margin, effector: margin, arm: null } });
  const cells = compareCampaign(campaign, runs, defaultSettings).filter(({ trajectory }) => trajectory in flown);
  const base = inventedEvaluation();
  return { ...base, runs, cells, settings: { ...base.settings, thresholds: { least_runs: 3 } } };
}
const frame = { width: 80, style: textStyle(false) };
const flowing = (lines: readonly string[]): string => lines.join("\n").replace(/\s+/g, " ");

// Two blocks hold one of each, two hold one alone: 3 v 3 are used, 2 v 2 enter the difference.
const stray: Flown = { A: [1, 1], B: [1, 1], C: [1, 0], D: [0, 1] };

test("runs in blocks that hold one configuration do not count, and the answer says that, not that nothing differs", () => {
  const evaluation = judged({ orbit: stray });
  expect(answerSentence(evaluation)).toBe(
    'No verdict: too few runs. Each trajectory needs at least 3 runs of each configuration; there are 3 with "Arm alone" and 3 with "Counterweights fitted", but only 2 v 2 stand in blocks that hold both; fly both in every block.',
  );
  expect(flowing(verdictBoard(evaluation, frame))).toContain("2 v 2 of 3 v 3");
  expect(flowing(verdictBoard(evaluation, frame))).toContain(
    "n v n: runs used, baseline v candidate; n v n of n v n: runs in blocks that hold both, of those used; p:",
  );
  expect(flowing(settleText(evaluation, frame))).toContain(
    "In orbit (used 3 v 3, of which only 2 v 2 stand in blocks that hold both; fly both in every block): 6 cells: at least 3 runs per configuration for any verdict, five or more tell something.",
  );
});

test("beside another trajectory that has its verdicts, the strays are named", () => {
  const evaluation = judged({ orbit: stray, reach: { A: [3, 3], B: [3, 3] } });
  expect(answerSentence(evaluation)).toMatch(
    / Too few runs for a verdict, since only 2 v 2 stand in blocks that hold both configurations \(fly both in every block\): the vehicle and the effector along x, y and z in orbit\. /,
  );
  const board = verdictBoard(evaluation, frame).join("\n");
  expect(board).toContain("2 v 2 of 3 v 3");
  expect(board).toContain("6 v 6");
  expect(board).not.toContain("6 v 6 of");
});

test("where only one of several trajectories has strays, the answer without verdicts says which", () => {
  expect(answerSentence(judged({ orbit: stray, reach: { A: [1, 1], B: [1, 1] } }))).toBe(
    'No verdict: too few runs. Each trajectory needs at least 3 runs of each configuration; there are 2 to 3 with "Arm alone" and 2 to 3 with "Counterweights fitted", but in orbit only 2 v 2 stand in blocks that hold both; fly both in every block.',
  );
});

test("runs that do not differ at all are told from runs that do not count", () => {
  expect(answerSentence(judged({ orbit: { A: [2, 2], B: [2, 2], C: [1, 0] } }, { still: true }))).toBe(
    "No verdict: in all 6 cells the runs do not differ at all among themselves, so there is no noise to hold a difference against.",
  );
  expect(answerSentence(judged({ orbit: stray }, { still: true }))).toContain("but only 2 v 2 stand");
});

test("as many as are used means those that enter: strays do not fill the number of runs needed", () => {
  const evaluation = judged({ orbit: { A: [2, 2], B: [2, 2], C: [4, 0], D: [0, 4] } }, { margin: 0.0015 });
  const needing = (middle: number): string => {
    const cells = evaluation.cells.map((cell) => ({
      ...cell,
      verdict: cell.in_family ? ("within the noise" as const) : null,
      runs_needed: { low: 3, middle, high: 9 },
    }));
    return flowing(settleText({ ...evaluation, cells }, frame));
  };
  expect(needing(5)).toContain("(used 8 v 8, of which only 4 v 4 stand in blocks that hold both;");
  expect(needing(5)).not.toContain("as many as are used");
  expect(needing(4)).toContain("about 4 runs per configuration in all (3 to 9, as many as are used)");
});

test("without strays, or without blocks, every run enters", () => {
  expect(flowing(verdictBoard(judged({ orbit: { A: [2, 3], B: [3, 2] } }), frame))).not.toContain("of those used");
  const [cell] = judged({ orbit: { A: [4, 1], B: [3, 0], C: [0, 3] } }).cells;
  // one block holds both: Welch's over all runs
  expect(cell!.method).toBe("welch");
  expect(enteringRuns(cell!, judged({ orbit: { A: [4, 1], B: [3, 0], C: [0, 3] } }))).toEqual([7, 4]);
});

// The definition, block by block: what a block holds counts where it holds both; where fewer than two do, all of it.
test("what enters is what stands in blocks that hold both, whatever was flown", () => {
  const block = fc.tuple(fc.nat(4), fc.nat(4));
  fc.assert(
    fc.property(fc.record({ A: block, B: block, C: block, D: block, none: block }), (flown) => {
      const evaluation = judged({ orbit: flown });
      const cell = evaluation.cells[0];
      if (cell === undefined) return;
      const all = Object.values(flown);
      const both = all.filter(([baseline, candidate]) => baseline > 0 && candidate > 0);
      const counted = cell.method === "blocked" ? both : all;
      const sum = (side: 0 | 1): number => counted.reduce((total, each) => total + each[side], 0);
      expect(enteringRuns(cell, evaluation)).toEqual([sum(0), sum(1)]);
      // and the verdict follows them: it is missing exactly where fewer than three of a side enter
      expect(cell.verdict === "too few runs").toBe(Math.min(sum(0), sum(1)) < 3);
    }),
    { seed: 43, numRuns: 150 },
  );
});
