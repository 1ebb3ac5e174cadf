import fc from "fast-check";
import { expect, test } from "vitest";
import { verdicts } from "../../src/catalogue/verdicts.ts";
import type { Cell } from "../../src/contract/cell.ts";
import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import { textStyle, textWidth } from "../../src/report/text/layout.ts";
import { verdictBoard } from "../../src/report/verdictBoard.ts";
import { inventedCell, inventedEvaluation, inventedFamily } from "../support/inventedEvaluation.ts";

const frame = (width: number, colour = false) => ({ width, style: textStyle(colour) });
const board = (cells: Cell[], width = 80, changes: Partial<CampaignEvaluation> = {}): string[] =>
  verdictBoard(inventedEvaluation({ cells, ...changes }), frame(width));
const text = (...asked: Parameters<typeof board>): string => board(...asked).join("\n");
const flowing = (...asked: Parameters<typeof board>): string => text(...asked).replace(/\s+/g, " ");
const esc = String.fromCharCode(27);

/** A family in which every kind of cell occurs. */
const motley = (): Cell[] =>
  inventedFamily(["orbit", "reach"], ({ trajectory, subject, axis }) => {
    const place = `${trajectory} ${subject} ${axis}`;
    if (place === "orbit vehicle x")
      return { verdict: "steadier", mm: [-3.6, -4.51, -2.73], p: 0.00001, p_family: 0.0001, fragile: ["one", "two"] };
    if (place === "orbit vehicle y") return { verdict: "no difference that matters", mm: [0.1, -0.5, 0.7] };
    if (place === "orbit vehicle z") return { verdict: "less steady", mm: [2.1, 1.2, 3], p_family: 0.0301 };
    if (place === "orbit effector x") return { mm: [-1.2, -2, -0.4], p: 0.01, p_family: 0.08 };
    if (place === "orbit effector y") return { verdict: "too few runs", mm: null, n: [5, 2] };
    if (place === "orbit effector z")
      return { verdict: "no difference that matters", mm: [-0.8, -1.2, -0.4], p_family: 0.004 };
    return {};
  });

// The numbers are those of the cells: 3.6 of 4 mm are 90 %, 0.1 of 4 mm 2.5 %, 2.1 of 4 mm 52.5 %, 1.2 of 4 mm 30 %.
test("a board at 80 columns: verdict, difference with interval, percent, runs, p, and what must not be missed", () => {
  expect(board(motley()).slice(0, 18)).toEqual([
    "Verdicts",
    'Rms error, "Counterweights fitted" minus "Arm alone", mm with 95 % interval;',
    "negative is steadier. Compared over all runs. Smallest difference that matters:",
    "1.5 mm.",
    "",
    "           x                      y                      z",
    "In orbit",
    "  vehicle  ▼ steadier             = no difference that   ▲ less steady",
    "           -3.60 [-4.51, -2.73]     matters              2.10 [1.20, 3.00]",
    "           -90 % (-108 to -72 %), 0.10 [-0.50, 0.70]     +53 % (42 to 63 %),",
    "           5 v 5, p < 0.001       +2.5 % (2.0 to 3.0 %), 5 v 5, p 0.03",
    "           fragile [1]            5 v 5, p 1",
    "  effector ~ within the noise     ? too few runs         = no difference that",
    "           -1.20 [-2.00, -0.40]   5 v 2                    matters",
    "           -30 % (-36 to -24 %),                         -0.80 [-1.20, -0.40]",
    "           5 v 5                                         -20 % (-24 to -16 %),",
    "           clear alone (p 0.01),                         5 v 5, p 0.004",
    "           not among 12 (p 0.08)                         clear of 0, yet too",
  ]);
  expect(text(motley())).toContain(`\n${" ".repeat(57)}small to matter\nIn reach\n`);
});

test("at 60 columns no interval and no p is torn apart", () => {
  const lines = board(motley(), 60);
  for (const whole of ["[-4.51, -2.73]", "[-0.50, 0.70]", "p < 0.001", "p 0.004"])
    expect(
      lines.some((line) => line.includes(whole)),
      whole,
    ).toBe(true);
});

test("the legend explains every sign", () => {
  expect(flowing(motley())).toContain(
    "▼ steadier; ▲ less steady; = no difference that matters; ~ within the noise; ? too few runs; ∅ no spread; ! doubted; n v n: runs used, baseline v candidate; p: of the cell among the 12 of the family (Holm) = is judged by the 90 % interval, which is narrower than the one shown.",
  );
  expect(flowing(inventedFamily(["orbit"]))).not.toContain("90 %");
});

test("reasons for fragile verdicts stand beneath the board, one entry per cell, under the cell's number", () => {
  const cells = motley().map((cell, index) =>
    index === 3 ? { ...cell, fragile: ["without run-3 it would be otherwise."] } : cell,
  );
  const lines = board(cells);
  expect(lines.slice(-3)).toEqual([
    "",
    "[1] orbit, vehicle along x: fragile: one; two.",
    "[2] orbit, effector along x: fragile: without run-3 it would be otherwise.",
  ]);
  expect(lines.filter((line) => line.includes("fragile ["))).toHaveLength(2);
});

test("a verdict that would be another with the excluded runs put back says so", () => {
  const cells = [inventedCell({ verdict_all_runs: "steadier" }), inventedCell({ axis: "y", verdict_all_runs: null })];
  expect(text(cells)).toContain("           see [1]\n");
  expect(board(cells).at(-1)).toBe("[1] orbit, vehicle along x: with the excluded runs put back: steadier.");
});

test("clear alone is said only where the interval leaves 0 out and the family does not follow", () => {
  const at = (wanted: Parameters<typeof inventedCell>[0]): string => flowing([inventedCell(wanted)]);
  expect(at({ mm: [1.2, 0.4, 2], p: 0.012, p_family: 0.0496 })).toContain(
    "clear alone (p 0.012), not among 1 (p 0.0496)",
  );
  expect(at({ mm: [-1.2, -2, 0.1], p: 0.06, p_family: 0.6 })).not.toContain("clear alone");
  expect(at({ mm: [-1.2, -2, -0.4], verdict: "steadier" })).not.toContain("clear alone");
});

test("looks are counted with the date of the first, and a look that left no trace is owned up to", () => {
  const looks = { count: 4, first: "2025-10-14T08:10:00Z", recorded: true };
  expect(flowing(motley(), 80, { looks })).toContain(
    "Looked at 4 times, first on 2025-10-14, each time with something changed that the verdicts rest on",
  );
  expect(flowing(motley(), 80, { looks: { ...looks, first: null } })).toContain("Looked at 4 times, each time");
  expect(flowing(motley())).not.toContain("Looked at");
  expect(flowing(motley(), 80, { looks: { count: 1, first: null, recorded: false } })).toContain(
    "This look could not be written to looks.jsonl: the count will miss it.",
  );
});

test("the caption says whether the runs were compared within blocks", () => {
  const blocked = motley().map((cell) => ({ ...cell, method: "blocked" as const }));
  expect(flowing(blocked)).toContain("Compared within blocks. Smallest");
  expect(flowing([...blocked.slice(0, 5), ...motley().slice(5)])).toContain("Compared within blocks in 5 of 12 cells.");
});

test("where a permutation can never fall below 0.05 the board says what the verdict rests on", () => {
  // 3 v 3: 2 of the 20 ways to choose 3 of 6 (design, section 6, item 3)
  const cells = inventedFamily(["orbit"], () => ({ n: [3, 3], p_least: 0.1 }));
  expect(flowing(cells)).toContain("In 6 of 6 cells there are too few runs for a permutation to fall below 0.05");
  expect(flowing(cells)).toContain("(least attainable p 0.1)");
  expect(flowing(cells)).not.toContain("t distribution");
  expect(flowing(motley())).not.toContain("permutation");
  const claimed = inventedFamily(["orbit"], ({ axis }) => ({
    n: [3, 3],
    p_least: 0.1,
    ...(axis === "x" ? { verdict: "steadier" as const } : {}),
  }));
  expect(flowing(claimed)).toContain(
    "whatever they show (least attainable p 0.1): there a claim rests on the t distribution alone.",
  );
});

test("a smallest difference that is not declared is called so; one per subject is reported per subject", () => {
  expect(flowing([inventedCell({ smallest_difference: null })])).toContain(
    "Smallest difference that matters: not declared.",
  );
  const cells = [inventedCell(), inventedCell({ subject: "effector", smallest_difference: 0.0005 })];
  expect(flowing(cells)).toContain("matters: 1.5 mm (vehicle) and 0.5 mm (effector).");
  const missing = [
    inventedCell({ smallest_difference: 0.002 }),
    inventedCell({ subject: "effector", smallest_difference: null }),
  ];
  expect(flowing(missing)).toContain("matters: 2 mm (vehicle); not declared (effector).");
});

test("axes that were not compared are dashes, explained; without a family there is no board", () => {
  expect(flowing([inventedCell({ axis: "y" })])).toMatch(/vehicle – ~ within the noise – .*–: not compared/);
  expect(board([])).toEqual([]);
  expect(board([inventedCell({ in_family: false, verdict: null })])).toEqual([]);
});

test("a p just above the level does not read as the level", () => {
  // 0.05004 and 0.0496: two figures would make 0.05 of either
  expect(flowing([inventedCell({ p_family: 0.05004 })])).toContain("5 v 5, p 0.05004");
  expect(flowing([inventedCell({ verdict: "steadier", p_family: 0.0496 })])).toContain("5 v 5, p 0.0496");
  expect(flowing([inventedCell({ p_least: 0.0502 })])).toContain("(least attainable p 0.0502)");
});

test("configurations of one label are distinguished by their keys", () => {
  const base = inventedEvaluation();
  const arm = { label: "Swab arm", added_mass: null, counterweights: [] };
  const settings = { ...base.settings, configurations: { bare: arm, weighted: arm } };
  expect(flowing([inventedCell()], 80, { settings })).toContain(
    'Rms error, "Swab arm" (weighted) minus "Swab arm" (bare), mm with',
  );
});

test("emphasis appears only in colour, and the words are the same without it", () => {
  const coloured = verdictBoard(inventedEvaluation({ cells: motley() }), frame(80, true)).join("\n");
  expect(text(motley())).not.toContain(esc);
  expect(coloured).toContain(`${esc}[1m▼ steadier${esc}[22m`);
  expect(coloured).toContain(`${esc}[33mfragile [1]${esc}[39m`);
  expect(coloured.replaceAll(new RegExp(`${esc}\\[\\d+m`, "g"), "")).toBe(text(motley()));
});

test("no line is too wide and no name steers the terminal, whatever the cells hold", () => {
  const length = fc.oneof(fc.double({ min: -1e7, max: 1e7, noNaN: true }), fc.double({ min: -9, max: 9, noNaN: true }));
  const name = fc.oneof(
    fc.constantFrom("orbit", `up${esc}[2J`, "重り付き".repeat(20), "a b\nc", `"${"x".repeat(120)}`),
    fc.string({ maxLength: 80 }),
  );
  const cell = fc.record({
    trajectory: name,
    subject: fc.constantFrom("vehicle", "effector"),
    axis: fc.constantFrom("x", "y", "z"),
    verdict: fc.constantFrom(...verdicts),
    verdict_all_runs: fc.constantFrom(null, ...verdicts),
    mm: fc.oneof(fc.constant(null), fc.tuple(length, length, length)),
    n: fc.tuple(fc.nat(1000), fc.nat(1000)),
    p: fc.double({ min: 0, max: 1, noNaN: true }),
    p_family: fc.double({ min: 0, max: 1, noNaN: true }),
    fragile: fc.array(name, { maxLength: 3 }),
  });
  fc.assert(
    fc.property(fc.array(cell, { maxLength: 12 }), fc.constantFrom(60, 80, 120), (drawn, width) => {
      for (const line of board(drawn.map(inventedCell), width)) {
        expect(textWidth(line), line).toBeLessThanOrEqual(width);
        expect(line).not.toMatch(/\p{Cc}|NaN|undefined|null|Infinity|-0\.0+\b(?!\d)/u);
      }
    }),
    { seed: 42, numRuns: 300 },
  );
});
