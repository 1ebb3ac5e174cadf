import { expect, test } from "vitest";
import type { Cell } from "../../src/contract/cell.ts";
import type { LooksPaid } from "../../src/contract/looksPlan.ts";
import { chanceSentence, keptSentence, lookSentence, looksText } from "../../src/words/lookWords.ts";
import { inventedEvaluation } from "../support/inventedEvaluation.ts";

const first = "2026-05-04T08:00:00.000Z";
const orbit = { trajectory: "orbit", fraction: 0.55, cost: 0.00585, spent: 0.03326 };
const paid: LooksPaid = { runs_at_most: 8, spending: "pocock", error: 0.05, trajectories: [orbit] };

test("looks that are not paid for are said as they ever were", () => {
  expect(looksText({ count: 1, first })).toBe("Looked at once.");
  expect(looksText({ count: 3, first })).toContain("makes false alarms more frequent");
  expect(lookSentence({ count: 1, first })).toBe("");
  expect(lookSentence({ count: 2, first })).toBe(
    "This is look 2 at these flights: each look more makes a false alarm likelier.",
  );
});

test("a look that is paid for says what it cost and what is left", () => {
  expect(lookSentence({ count: 3, first, paid })).toBe(
    "Look 3, paid for: with 55 % flown, 3.3 of the 5 % false alarms that the campaign allows itself are spent, 0.58 by this look; 1.7 are left.",
  );
  expect(looksText({ count: 3, first, paid })).toContain("of Pocock’s type over at most 8 runs");
});

test("trajectories at other shares are said one by one, and a look at the same runs costs nothing", () => {
  const reach = { trajectory: "reach", fraction: 0.43, cost: 0, spent: 0.0274 };
  expect(lookSentence({ count: 4, first, paid: { ...paid, trajectories: [orbit, reach] } })).toBe(
    "Look 4, paid for: in orbit, with 55 % flown, 3.3 of the 5 % false alarms that the campaign allows itself are spent, 0.58 by this look; 1.7 are left; in reach, with 43 % flown, 2.7 are spent, none by this look; 2.3 are left.",
  );
});

test("a tiny share is never said to be nothing, and nothing compared spends nothing", () => {
  const tiny = { ...orbit, fraction: 0.2, cost: 1e-6, spent: 1e-6 };
  expect(lookSentence({ count: 1, first, paid: { ...paid, trajectories: [tiny] } })).toContain(
    "less than 0.01 by this look",
  );
  expect(lookSentence({ count: 1, first, paid: { ...paid, trajectories: [] } })).toContain("nothing is spent");
});

const cell = inventedEvaluation().cells.find((one) => one.in_family)!;
const withLook = (chance: number | null, claimed: NonNullable<Cell["look"]>["claimed"] = null): Cell => ({
  ...cell,
  verdict: claimed?.verdict ?? "within the noise",
  look: { fractions: [0.55], cost: 0.01, spent: 0.01, threshold: 1e-3, p: 0.5, entered: 0.5, claimed, chance },
});
const placed = (cells: readonly Cell[]): string => `${cells.length} cells`;

test("where no open cell has a chance left, to stop is advised; else those that have none are named", () => {
  expect(chanceSentence([withLook(0.02), withLook(0.081)], { paid }, placed)).toMatch(
    /^Stop: no chance left .*at most 9 in 100.*advice and binds nothing/,
  );
  expect(chanceSentence([withLook(0.02), withLook(0.5)], { paid }, placed)).toMatch(
    /^Hardly a chance left .*: 1 cells \(/,
  );
  expect(chanceSentence([withLook(0.1), withLook(null)], { paid }, placed)).toBe("");
  expect(chanceSentence([withLook(0.02)], {}, placed)).toBe("");
});

test("claims of earlier looks are named with how much was flown then", () => {
  const claimed = { verdict: "steadier", fraction: 0.43 } as const;
  expect(keptSentence([withLook(null, claimed), withLook(0.5)], placed)).toBe(
    "Claimed at an earlier look (with 43 % flown), and so it stays: 1 cells.",
  );
  expect(keptSentence([withLook(0.5)], placed)).toBe("");
  // doubted now: then it does not stand
  expect(keptSentence([{ ...withLook(null, claimed), verdict: "doubted" }], placed)).toBe("");
});
