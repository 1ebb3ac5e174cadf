import { expect, test } from "vitest";
import type { Cell } from "../../src/contract/cell.ts";
import { settleText } from "../../src/report/settleText.ts";
import { textStyle, textWidth } from "../../src/report/text/layout.ts";
import { inventedCell, inventedEvaluation, inventedFamily } from "../support/inventedEvaluation.ts";

const lines = (cells: Cell[], width = 80): string[] =>
  settleText(inventedEvaluation({ cells }), { width, style: textStyle(false) });
const flowing = (cells: Cell[]): string => lines(cells).join("\n").replace(/\s+/g, " ");
const need = (middle: number, low: number, high: number) => ({ runs_needed: { low, middle, high } });
const clear = { verdict: "steadier", mm: [-3, -3.5, -2.5] } as const;

test("each open cell says how many runs it needs to see the smallest difference, the least hungry first", () => {
  const cells = [
    inventedCell({ axis: "z", ...need(12, 7, 30) }),
    inventedCell({ subject: "effector", axis: "x", ...need(9, 6, 21) }),
    inventedCell({ ...clear, axis: "x", ...need(2, 2, 3) }),
  ];
  expect(flowing(cells)).toContain(
    "What it would take to settle what is open In orbit (used 5 v 5): about 9 runs per configuration in all (6 to 21) for the effector along x and about 12 (7 to 30) for the vehicle along z, to see 1.5 mm.",
  );
});

test("it says what the number of runs assumes, from the thresholds that were applied", () => {
  const cells = inventedFamily(["orbit", "reach"], () => need(9, 6, 21));
  expect(flowing(cells)).toContain(
    "Runs needed: for 80 % chance of a verdict if the true change is the smallest difference, at the hardest step of Holm (0.05/12), if later runs scatter as these do;",
  );
  const base = inventedEvaluation();
  const settings = { ...base.settings, thresholds: { power: 0.9, family_error: 0.01 } };
  const other = settleText(inventedEvaluation({ cells, settings }), { width: 400, style: textStyle(false) });
  expect(other.join(" ")).toContain(
    "for 90 % chance of a verdict if the true change is the smallest difference, at the hardest step of Holm (0.01/12)",
  );
});

test("many open cells of a trajectory are told by the least and the most hungry", () => {
  const middles = [9, 14, 22, 31, 18, 12];
  const cells = inventedFamily(["orbit"]).map((cell, i) => ({ ...cell, ...need(middles[i]!, 3, 40) }));
  expect(flowing(cells)).toContain(
    "about 9 runs per configuration in all (3 to 40) for the vehicle along x and about 31 (3 to 40) for the effector along x (4 more between them), to see 1.5 mm.",
  );
});

test("many trajectories are summed up, so that the advice stays short", () => {
  const names = Array.from({ length: 10 }, (_, i) => `path-${i + 1}`);
  const cells = inventedFamily(names, ({ trajectory }) => need(trajectory === "path-9" ? 44 : 9, 6, 21));
  // five named, five left, with six open cells each
  expect(flowing(cells)).toContain(
    "In 5 more trajectories 30 cells are open: up to about 44 runs per configuration in all.",
  );
  expect(lines(cells).length).toBeLessThan(40);
});

test("where as many runs as needed are used already, that is said", () => {
  expect(flowing([inventedCell(need(5, 4, 9))])).toContain(
    "about 5 runs per configuration in all (4 to 9, as many as are used) for the vehicle along x, to see 1.5 mm.",
  );
});

test("numbers of runs that nobody flies are not spelled out", () => {
  expect(flowing([inventedCell(need(1200, 40, Number.MAX_SAFE_INTEGER))])).toContain(
    "): more than 999 runs per configuration in all (40 to more than 999) for the vehicle along x, to see 1.5 mm.",
  );
  // nothing to choose from in the bracket: no bracket
  expect(flowing([inventedCell(need(4000, 1200, 9000))])).toContain(
    "): more than 999 runs per configuration in all for the vehicle along x, to see 1.5 mm.",
  );
  expect(flowing([inventedCell(need(7, 7, 7))])).toContain(
    "): about 7 runs per configuration in all for the vehicle along x, to see 1.5 mm.",
  );
  const many = Array.from({ length: 10 }, (_, i) => `path-${i + 1}`);
  expect(flowing(inventedFamily(many, () => need(4000, 1200, 9000)))).toContain(
    "In 5 more trajectories 30 cells are open: up to more than 999 runs per configuration in all.",
  );
});

test("too few runs: the least that any verdict needs", () => {
  const few = { verdict: "too few runs", mm: null, n: [5, 2] } as const;
  expect(flowing([inventedCell(few), inventedCell({ ...few, axis: "y", n: [4, 1] })])).toContain(
    "In orbit (used 4 to 5 v 1 to 2): vehicle along x and vehicle along y: at least 3 runs per configuration for any verdict, five or more tell something.",
  );
  expect(flowing(inventedFamily(["orbit"], () => few))).toContain("(used 5 v 2): 6 cells: at least 3 runs");
  const still = { verdict: "no spread", p: null, se: null, ci95: null } as const;
  expect(flowing([inventedCell(still)])).toContain("1 cell for which the number of runs needed is not known.");
});

test("a missing smallest difference: what cannot be said, and how to declare it", () => {
  const text = flowing([inventedCell({ smallest_difference: null }), inventedCell({ subject: "effector" })]);
  expect(text).toContain(
    'No smallest difference is declared for the vehicle: neither "no difference that matters" nor the number of runs needed can be given. Declare the smallest change that would matter to your work, such as `smallest_difference: 1.5 mm` or `{ vehicle: 2 mm, effector: 1 mm }`, in the manifest; from the task, not from these results.',
  );
  expect(flowing([inventedCell()])).not.toContain("declared");
  expect(flowing(inventedFamily(["orbit"], () => ({ smallest_difference: null })))).toContain(
    "for the vehicle and effector:",
  );
});

test("the limit of a single pair is reported per subject in one sentence", () => {
  const pair = (limit: number) => ({ pair: { sd: limit / 3, df: 6, limit } });
  const cells = [
    inventedCell(pair(0.0012)),
    inventedCell({ axis: "y", ...pair(0.0034) }),
    inventedCell({ subject: "effector", ...pair(0.002) }),
    inventedCell({ subject: "effector", axis: "y" }),
  ];
  expect(flowing(cells)).toContain(
    "Two flights of the same configuration and block differ by less than 1.2 to 3.4 mm (vehicle, by trajectory and axis) or 2 mm (effector) in 95 of 100 pairs by chance alone: a single pair of flights, one of each configuration, can show nothing smaller.",
  );
  expect(flowing([inventedCell()])).not.toContain("pairs");
});

test("advice to fly comes with the cautions of flying; where nothing is open there is neither", () => {
  const open = flowing([inventedCell(need(9, 6, 21))]);
  for (const caution of [
    "props off",
    "netted or tethered arena",
    "kill switch",
    "batteries",
    "retained",
    "first hover low",
  ])
    expect(open).toContain(caution);
  expect(lines([inventedCell(clear)])).toEqual([
    "What it would take to settle what is open",
    "Every cell of the family has its verdict: none is open.",
  ]);
  expect(lines([])).toEqual([]);
});

test("where all is settled but some verdicts are fragile, the advice is to fly more, with the cautions", () => {
  const fragile = { ...clear, fragile: ["without run-3 it would be open"] };
  const settled = "What it would take to settle what is open Every cell of the family has its verdict: none is open; ";
  const two = flowing([inventedCell(fragile), inventedCell({ ...fragile, axis: "y" }), inventedCell(clear)]);
  expect(two).toContain(`${settled}but 2 are fragile: fly more before you build on them. `);
  expect(two).toContain("first hover low");
  expect(flowing([inventedCell(fragile), inventedCell({ ...clear, axis: "y" })])).toContain(
    `${settled}but 1 is fragile: fly more before you build on it. `,
  );
});

test("wherever more flights are advised it is said once that flying until a verdict comes counts as looks", () => {
  const looks =
    "Flying on until a verdict comes counts as looks, and each look more makes a false alarm likelier: decide beforehand how many to fly.";
  const text = flowing(inventedFamily(["orbit", "reach"], () => need(9, 6, 21)));
  expect(text.split(looks)).toHaveLength(2);
  expect(flowing([inventedCell(clear)])).not.toContain("look");
});

test("no line is too wide, and a trajectory's name cannot steer the terminal", () => {
  const names = [`up${String.fromCharCode(27)}[2J`, "x".repeat(200), "重り付き".repeat(20)];
  const cells = inventedFamily(names, () => need(123456, 99999, 1234567));
  for (const width of [60, 80, 120])
    for (const line of lines(cells, width)) {
      expect(textWidth(line), line).toBeLessThanOrEqual(width);
      expect(line).not.toMatch(/\p{Cc}/u);
    }
});
