import fc from "fast-check";
import { expect, test } from "vitest";
import { measureIds, measureOf } from "../../src/catalogue/measures.ts";
import { verdicts } from "../../src/catalogue/verdicts.ts";
import type { Cell } from "../../src/contract/cell.ts";
import type { CampaignEvaluation, RunEvaluation } from "../../src/contract/evaluation.ts";
import { checkEvaluation } from "../../src/pipeline/writeEvaluation.ts";
import { answerSentence, answerSentences } from "../../src/report/answerSentence.ts";
import { textWidth } from "../../src/report/text/layout.ts";
import { inventedCell, inventedEvaluation, inventedFamily, inventedRun } from "../support/inventedEvaluation.ts";

const pair = 'With "Counterweights fitted" instead of "Arm alone", ';
const answer = (cells: Cell[], changes: Partial<CampaignEvaluation> = {}): string =>
  answerSentence(inventedEvaluation({ cells, ...changes }));
/** what `inventedFamily` is given: by "trajectory subject axis" */
const by =
  (table: Record<string, Parameters<typeof inventedCell>[0]>, otherwise: Parameters<typeof inventedCell>[0] = {}) =>
  ({ trajectory, subject, axis }: Pick<Cell, "trajectory" | "subject" | "axis">) =>
    table[`${trajectory} ${subject} ${axis}`] ?? otherwise;

// Invented cells are of 4 mm: 3.6 mm are 90 %, 2.6 mm 65 %, 1.2 mm 30 %, 2.1 mm 52.5 % (rounded: 53), 1 mm 25 %.
const steadier = (mm: number) => ({ verdict: "steadier", mm: [-mm, -mm - 0.5, -mm + 0.5] }) as const;
const worse = (mm: number) => ({ verdict: "less steady", mm: [mm, mm - 0.5, mm + 0.5] }) as const;
const alike = { verdict: "no difference that matters", mm: [0.1, -0.5, 0.7] } as const;
const few = { verdict: "too few runs", n: [5, 2], mm: null } as const;

test("the answer says where it is steadier and by how much, what does not matter, and what is open", () => {
  const cells = inventedFamily(
    ["orbit", "reach"],
    by({
      "reach vehicle x": steadier(3.6),
      "reach effector x": steadier(2.6),
      "reach effector z": steadier(2.6),
      "orbit effector y": steadier(1.2),
      "orbit vehicle y": alike,
      "reach vehicle y": alike,
    }),
  );
  expect(answer(cells)).toBe(
    `${pair}the vehicle is steadier along x in reach (rms error about 3.6 mm lower, 90 %, interval 72 to 108 %), and the effector along x and z in reach and along y in orbit (about 1.2 to 2.6 mm lower, 30 to 65 %, intervals from 24 to 78 %). No difference that matters (none beyond 1.5 mm): the vehicle along y in both trajectories. Within the noise, so still open: the vehicle along x in orbit and along z in both trajectories; the effector along x and z in orbit and along y in reach.`,
  );
});

test("what is less steady is said as plainly, in the same sentence", () => {
  const cells = inventedFamily(
    ["orbit"],
    by({ "orbit vehicle x": steadier(1), "orbit effector z": worse(2.1) }, alike),
  );
  expect(answer(cells)).toBe(
    `${pair}the vehicle is steadier along x in orbit (rms error about 1 mm lower, 25 %, interval 20 to 30 %); but the effector is less steady along z in orbit (about 2.1 mm higher, 53 %, interval 42 to 63 %). No difference that matters (none beyond 1.5 mm): the vehicle along y and z in orbit; the effector along x and y in orbit.`,
  );
  const onlyWorse = answer(inventedFamily(["orbit"], () => worse(2.1)));
  expect(onlyWorse).toBe(
    `${pair}the vehicle and the effector are less steady along x, y and z in orbit (rms error about 2.1 mm higher, 53 %, intervals from 42 to 63 %).`,
  );
});

test("steadier everywhere is one short sentence, with the words of the primary metric", () => {
  const cells = inventedFamily(["orbit", "reach"], () => steadier(1));
  const said = (primary: CampaignEvaluation["settings"]["primary"]): string =>
    answer(cells, { settings: { ...inventedEvaluation().settings, primary } });
  const where = `${pair}the vehicle and the effector are steadier along x, y and z in both trajectories`;
  expect(said("rms")).toBe(`${where} (rms error about 1 mm lower, 25 %, intervals from 20 to 30 %).`);
  expect(said("range")).toBe(`${where} (range of the error about 1 mm lower, 25 %, intervals from 20 to 30 %).`);
  expect(said("sd")).toBe(
    `${where} (standard deviation of the error about 1 mm lower, 25 %, intervals from 20 to 30 %).`,
  );
  expect(said("synchronous")).toBe(`${where} (synchronous error about 1 mm lower, 25 %, intervals from 20 to 30 %).`);
});

test("where nothing is clear, the question is called open and no effect is not claimed", () => {
  const text = answer(inventedFamily(["orbit"]));
  expect(text).toBe(
    `${pair}the rms error is not shown to fall or to rise on any axis. Within the noise, so still open: all 6 cells.`,
  );
  expect(text).not.toMatch(/no effect|no difference|same/i);
});

test("nothing matters on any axis only if every cell says so", () => {
  const all = inventedFamily(["orbit"], () => alike);
  expect(answer(all)).toBe(
    `${pair}there is no difference that matters on any axis: in all 6 cells the rms error of the vehicle and the effector changes by less than 1.5 mm.`,
  );
  const allButOne = inventedFamily(["orbit"], by({ "orbit effector z": {} }, alike));
  expect(answer(allButOne)).toBe(
    `${pair}the rms error is not shown to fall or to rise on any axis. No difference that matters (none beyond 1.5 mm): the vehicle along x, y and z in orbit; the effector along x and y in orbit. Within the noise, so still open: the effector along z in orbit.`,
  );
});

test("a smallest difference per subject is reported per subject", () => {
  const cells = inventedFamily(["orbit"], ({ subject }) => ({
    ...alike,
    smallest_difference: subject === "vehicle" ? 0.002 : 0.001,
  }));
  expect(answer(cells)).toContain("changes by less than 2 mm (vehicle) and 1 mm (effector).");
});

test("without a smallest difference the answer says what cannot be said", () => {
  const none = inventedFamily(["orbit"], () => ({ ...steadier(1), smallest_difference: null }));
  expect(answer(none)).toMatch(
    / No smallest difference is declared, so nothing can be said to change too little to matter\.$/,
  );
  const one = inventedFamily(["orbit"], ({ subject }) => ({
    smallest_difference: subject === "vehicle" ? 0.001 : null,
  }));
  expect(answer(one)).toMatch(/ No smallest difference is declared for the effector, so /);
});

test("a fragile claim is called fragile in the same breath, with its reason where there is one", () => {
  const thread = { ...steadier(1), fragile: ["leaving out run-3 changes it."] };
  expect(answer(inventedFamily(["orbit"], by({ "orbit vehicle x": thread }, alike)))).toMatch(
    /\(rms error about 1 mm lower, 25 %, interval 20 to 30 %; fragile\)\. Fragile \(leaving out run-3 changes it\)\. No difference/,
  );
  const some = inventedFamily(["orbit"], by({ "orbit vehicle x": thread, "orbit vehicle z": steadier(1) }, alike));
  expect(answer(some)).toContain(
    "along x and z in orbit (rms error about 1 mm lower, 25 %, intervals from 20 to 30 %; in part fragile). Fragile among these: the vehicle along x in orbit (leaving out run-3 changes it).",
  );
  // several reasons, a long one, or one that would sound like another claim stand beneath the board only
  const two = { ...steadier(1), fragile: ["one", "two"] };
  const long = { ...steadier(1), fragile: ["why ".repeat(40)] };
  const other = { ...steadier(1), fragile: ['without run-3 it would be "less steady"'] };
  for (const cell of [two, long, other])
    expect(answer([inventedCell(cell)])).toBe(
      `${pair}the vehicle is steadier along x in orbit (rms error about 1 mm lower, 25 %, interval 20 to 30 %; fragile).`,
    );
});

test("where the brackets tell fragile claims from firm ones, they are not listed again", () => {
  const thread = { ...steadier(1), fragile: ["one", "two"] };
  const cells = inventedFamily(["orbit"], by({ "orbit vehicle x": steadier(1), "orbit effector y": thread }, alike));
  expect(answer(cells)).toContain(
    "the vehicle is steadier along x in orbit (rms error about 1 mm lower, 25 %, interval 20 to 30 %), and the effector along y in orbit (about 1 mm lower, 25 %, interval 20 to 30 %; fragile). No difference that matters",
  );
});

test("a fragile absence is called fragile too", () => {
  const thread = { ...alike, fragile: ["leaving out run-1 widens it"] };
  expect(answer(inventedFamily(["orbit"], by({ "orbit vehicle y": thread }, alike)))).toMatch(
    /1\.5 mm\. Fragile among these: the vehicle along y in orbit \(leaving out run-1 widens it\)\.$/,
  );
  expect(answer(inventedFamily(["orbit"], () => thread))).toMatch(/All 6 of these verdicts are fragile\.$/);
  expect(answer(inventedFamily(["orbit"], by({ "orbit vehicle y": thread, "orbit vehicle z": thread })))).toMatch(
    /in orbit\. Both of these verdicts are fragile\. Within/,
  );
  expect(answer(inventedFamily(["orbit"], by({ "orbit vehicle y": thread })))).toMatch(
    /in orbit\. This verdict is fragile \(leaving out run-1 widens it\)\. Within/,
  );
});

/** A used run of a trajectory in which only these blocks hold both configurations. */
const confoundedRun = (id: string, trajectory: string, shared: string[]): RunEvaluation =>
  inventedRun({
    id,
    trajectory,
    checks: [
      checkEvaluation({
        code: "confounded",
        severity: "doubt",
        message: "blocks and configurations cannot be distinguished",
        evidence: { trajectory, shared_blocks: shared },
        hint: "fly both in every block",
      }),
    ],
  });
/** what the answer says before it names the pair */
const warning = (names: string[], runs: RunEvaluation[]): string => {
  const cells = inventedFamily(names, () => steadier(1));
  return answer(cells, { runs: [...runs, inventedRun({ id: "clear" })] }).split(" With ")[0]!;
};

test("configurations flown in separate blocks: the answer begins with it, and speaks of what does not differ too", () => {
  const reach = confoundedRun("run-1", "reach", []);
  expect(warning(["orbit", "reach"], [reach])).toBe(
    "The configurations were flown in separate blocks in reach: what differs there, or does not, may be the days' doing, not the configuration's.",
  );
  expect(warning(["orbit", "reach"], [reach, confoundedRun("run-2", "orbit", [])])).toBe(
    "The configurations were flown in separate blocks in both trajectories: what differs there, or does not, may be the days' doing, not the configuration's.",
  );
});

test("where a single block holds both configurations, the answer names it and says what enters the difference", () => {
  const one = confoundedRun("run-1", "reach", ["day1"]);
  const doing =
    "and runs of other blocks enter the difference: what differs there, or does not, may in part be the days' doing.";
  expect(warning(["orbit", "reach"], [one, { ...one, id: "run-2" }])).toBe(
    `Only block day1 holds both configurations in reach, ${doing}`,
  );
  expect(warning(["orbit", "reach"], [one, confoundedRun("run-2", "orbit", ["second day"])])).toBe(
    `Only block "second day" holds both configurations in orbit, ${doing} Only block day1 holds both configurations in reach, ${doing}`,
  );
  expect(warning(["orbit", "reach"], [one, confoundedRun("run-2", "orbit", [])])).toBe(
    `The configurations were flown in separate blocks in orbit: what differs there, or does not, may be the days' doing, not the configuration's. Only block day1 holds both configurations in reach, ${doing}`,
  );
  expect(warning(["orbit", "reach"], [confoundedRun("run-1", "reach", ["no block"])])).toBe(
    `Only the runs without a block are of both configurations in reach, ${doing}`,
  );
  const names = ["orbit", "reach", "dip", "swing"];
  const three = names.slice(1).map((name, i) => confoundedRun(`run-${i}`, name, [`day${i}`]));
  expect(warning(names, three)).toBe(
    `Only a single block each holds both configurations in 3 of 4 trajectories, ${doing}`,
  );
});

test("a confounded trajectory of which no cell is judged, or a run that is not used, warns of nothing", () => {
  const unused = { ...confoundedRun("run-1", "orbit", []), used: false, excluded_because: "gust" };
  expect(warning(["orbit"], [unused, confoundedRun("run-2", "swing", [])])).toMatch(/^With /);
});

test("several looks are reported", () => {
  const looks = { count: 3, first: "2025-10-14T08:00:00Z", recorded: true };
  const text = answer([inventedCell(steadier(1))], { looks });
  expect(text).toMatch(/ This is look 3 at these flights: each look more makes a false alarm likelier\.$/);
  expect(answer([inventedCell(steadier(1))])).not.toContain("look");
});

test("cells with too few runs are named beside the verdicts of the others", () => {
  const cells = inventedFamily(["orbit", "reach"], ({ trajectory }) => (trajectory === "reach" ? few : steadier(1)));
  expect(answer(cells)).toBe(
    `${pair}the vehicle and the effector are steadier along x, y and z in orbit (rms error about 1 mm lower, 25 %, intervals from 20 to 30 %). Too few runs for a verdict: the vehicle and the effector along x, y and z in reach.`,
  );
});

test("runs that do not differ among themselves are not called too few", () => {
  const still = { verdict: "no spread", p: null, p_family: null, mm: [-3, -3, -3], se: null, ci95: null } as const;
  const cells = inventedFamily(["orbit"], by({ "orbit vehicle x": still }, steadier(1)));
  expect(answer(cells)).toMatch(
    / No verdict, since the runs do not differ at all among themselves: the vehicle along x in orbit\.$/,
  );
  expect(answer(inventedFamily(["orbit"], () => still))).toBe(
    "No verdict: in all 6 cells the runs do not differ at all among themselves, so there is no noise to hold a difference against.",
  );
  expect(answer(inventedFamily(["orbit"], by({ "orbit vehicle x": few }, still)))).toBe(
    'No verdict: too few runs. Each trajectory needs at least 3 runs of each configuration; there are 5 with "Arm alone" and 2 with "Counterweights fitted". Where there are more, they do not differ at all among themselves.',
  );
});

test("without any verdict the answer says why", () => {
  expect(answer(inventedFamily(["orbit"], () => few))).toBe(
    'No verdict: too few runs. Each trajectory needs at least 3 runs of each configuration; there are 5 with "Arm alone" and 2 with "Counterweights fitted".',
  );
  const mixed = inventedFamily(["orbit", "reach"], ({ trajectory }) => ({
    ...few,
    n: trajectory === "orbit" ? [2, 1] : [1, 2],
  }));
  expect(answer(mixed)).toContain('there are 1 to 2 with "Arm alone" and 1 to 2 with "Counterweights fitted".');
  expect(answer([], { runs: [] })).toBe("No verdict: no run is filed.");
  const left = (id: string, configuration = "bare"): RunEvaluation =>
    inventedRun({ id, configuration, used: false, excluded_because: "why not" });
  expect(answer([], { runs: [left("a")] })).toBe("No verdict: the one run that is filed was left out.");
  expect(answer([], { runs: [left("a"), left("b")] })).toBe("No verdict: both runs were left out.");
  const frozen = checkEvaluation({
    code: "frozen",
    severity: "unusable",
    message: "the pose stands still",
    evidence: {},
    hint: "",
  });
  const unusable = ["a", "b"].map((id) => ({ ...left(id), checks: [frozen] }));
  expect(answer([], { runs: unusable })).toBe(
    "No verdict: none of the 2 runs can be used, all of them for frozen (a: the pose stands still).",
  );
  const bare = inventedRun({ id: "a" });
  const none = inventedFamily(["orbit"], () => ({ ...few, n: [5, 0] }));
  for (const cells of [[], none]) {
    expect(answer(cells, { runs: [bare] })).toBe(
      'No verdict: no run with "Counterweights fitted" is filed, so "Arm alone" has nothing to be compared with.',
    );
    expect(answer(cells, { runs: [bare, left("b", "weighted")] })).toBe(
      'No verdict: all runs with "Counterweights fitted" were left out, so "Arm alone" has nothing to be compared with.',
    );
  }
  expect(answer([], { runs: [inventedRun({ id: "a", configuration: "other" })] })).toBe(
    'No verdict: no used run belongs to "Arm alone" or to "Counterweights fitted", the two that are to be compared.',
  );
  expect(answer([])).toBe("No verdict: the evaluation holds no comparison of the configurations.");
});

test("exploratory cells do not speak in the answer", () => {
  const exploratory = inventedCell({ ...steadier(3), in_family: false, verdict: null, subject: "arm" });
  expect(answer([inventedCell(), exploratory])).toBe(answer([inventedCell()]));
  // nor where a later comparison (with a sham) gives them a verdict of their own
  const sham = inventedCell({ ...steadier(3), in_family: false });
  expect(answer([inventedCell(), sham])).toBe(answer([inventedCell()]));
});

test("with ten trajectories the answer counts them and stays short", () => {
  const names = Array.from({ length: 10 }, (_, i) => `path-${i + 1}`);
  const cells = inventedFamily(names, ({ trajectory, subject, axis }) =>
    subject === "vehicle" && axis === "x" && trajectory !== "path-1" && trajectory !== "path-2"
      ? steadier(1)
      : trajectory === "path-3" && axis === "y"
        ? alike
        : {},
  );
  expect(answer(cells)).toBe(
    `${pair}the vehicle is steadier along x in 8 of 10 trajectories (rms error about 1 mm lower, 25 %, intervals from 20 to 30 %). No difference that matters (none beyond 1.5 mm): the vehicle and the effector along y in path-3. Within the noise, so still open: the vehicle along x in path-1 and path-2, along y in 9 of 10 trajectories and along z in all 10 trajectories; the effector along x and z in all 10 trajectories and along y in 9 of 10 trajectories.`,
  );
});

test("two trajectories are named, three are counted", () => {
  const names = ["orbit", "reach", "swing", "dip"];
  const told = (flown: string[]): string =>
    answer(
      inventedFamily(names, ({ trajectory, subject, axis }) =>
        subject === "vehicle" && axis === "z" && flown.includes(trajectory) ? steadier(1) : alike,
      ),
    );
  expect(told(["orbit", "dip"])).toContain("the vehicle is steadier along z in orbit and dip (rms");
  expect(told(["orbit", "dip", "reach"])).toContain("the vehicle is steadier along z in 3 of 4 trajectories (rms");
  expect(told(names)).toContain("the vehicle is steadier along z in all 4 trajectories (rms");
});

test("a change without a share of the baseline, or beyond all measure, is reported in millimetres only", () => {
  expect(answer([inventedCell({ ...steadier(1), ratio: null })])).toContain("(rms error about 1 mm lower).");
  expect(answer([inventedCell({ ...worse(50), ratio: 12.5 })])).toContain("(rms error about 50 mm higher).");
  expect(answer([inventedCell({ ...steadier(0.02), ratio: -0.005 })])).toContain(
    "about 0.02 mm lower, less than 1 %, interval 0 to 1 %",
  );
});

test("amounts are reported with no more decimals than the board has", () => {
  const two = [inventedCell({ verdict: "steadier", mm: [-0.084, -0.12, -0.05] })];
  // alone: the board's largest length is 0.12 mm, which it shows with three decimals
  expect(answer(two)).toContain("(rms error about 0.084 mm lower, 2 %, interval 2 to 3 %).");
  two.push(inventedCell({ axis: "y", verdict: "steadier", mm: [-6.116, -8, -4] }));
  expect(answer(two)).toContain("(rms error about 0.08 to 6.12 mm lower, 2 to 153 %, intervals from 2 to 183 %).");
  // the board has one decimal from 100 mm on
  two.push(inventedCell({ axis: "z", mm: [20, -150, 190] }));
  expect(answer(two)).toContain("(rms error about 0.1 to 6.1 mm lower, 2 to 153 %, intervals from 2 to 183 %).");
});

test("configurations of one label are distinguished by their keys, wherever they stand side by side", () => {
  const base = inventedEvaluation();
  const named = (bare: string, weighted: string): CampaignEvaluation["settings"] => ({
    ...base.settings,
    configurations: {
      bare: { label: bare, added_mass: null, counterweights: [] },
      weighted: { label: weighted, added_mass: null, counterweights: [] },
    },
  });
  const settings = named("Swab arm", " Swab  arm");
  expect(answer([inventedCell(steadier(1))], { settings })).toMatch(
    /^With "Swab arm" \(weighted\) instead of "Swab arm" \(bare\), the vehicle is steadier/,
  );
  expect(answer([inventedCell(few)], { settings })).toContain(
    'there are 5 with "Swab arm" (bare) and 2 with "Swab arm" (weighted).',
  );
  // labels that differ only beyond where a sentence cuts them
  const long = "w".repeat(60);
  expect(answer([inventedCell(steadier(1))], { settings: named(`${long}1`, `${long}2`) })).toContain(
    `With "${"w".repeat(47)}…" (weighted) instead of "${"w".repeat(47)}…" (bare), `,
  );
});

test("names are quoted, cut where long, and cannot steer the terminal or end a quotation", () => {
  const base = inventedEvaluation();
  const configurations = {
    bare: { label: `say "hi"\u001b[2J`, added_mass: null, counterweights: [] },
    weighted: { label: "w".repeat(200), added_mass: null, counterweights: [] },
  };
  const cells = inventedFamily(["up. The vehicle is gone"], () => steadier(1));
  const text = answer(cells, { settings: { ...base.settings, configurations } });
  expect(text).toBe(
    `With "${"w".repeat(47)}…" instead of "say 'hi'\\x1b[2J", the vehicle and the effector are steadier along x, y and z in "up. The vehicle is gone" (rms error about 1 mm lower, 25 %, intervals from 20 to 30 %).`,
  );
});

test("the answer claims nothing that no cell of the family says", () => {
  const cell = fc.record({
    trajectory: fc.constantFrom("orbit", "reach", "hold", "swing"),
    subject: fc.constantFrom("vehicle", "effector", "arm"),
    axis: fc.constantFrom("x", "y", "z"),
    verdict: fc.constantFrom(...verdicts),
    in_family: fc.boolean(),
    metric: fc.constantFrom(...measureIds.filter((id) => measureOf(id).steadier === "lower")),
    fragile: fc.constantFrom<string[]>([], ["one run"], ["one run", "permutation"]),
    smallest_difference: fc.constantFrom(null, 0.001, 0.002),
    mm: fc.tuple(
      fc.double({ min: -9, max: 9, noNaN: true }),
      fc.double({ min: -20, max: -10, noNaN: true }),
      fc.double({ min: 10, max: 20, noNaN: true }),
    ),
  });
  fc.assert(
    fc.property(
      fc.uniqueArray(cell, { selector: (c) => `${c.trajectory}${c.subject}${c.axis}`, maxLength: 30 }),
      (drawn) => {
        const cells = drawn.map((wanted) => inventedCell(wanted.in_family ? wanted : { ...wanted, verdict: null }));
        const family = cells.filter((each) => each.in_family);
        const said = new Set(family.map(({ verdict }) => verdict));
        const text = answer(cells);
        expect(/steadier|lower/.test(text)).toBe(said.has("steadier"));
        expect(/less steady|higher/.test(text)).toBe(said.has("less steady"));
        expect(/difference that matters/.test(text)).toBe(said.has("no difference that matters"));
        expect(/on any axis: in (?:all|both|the one)/.test(text)).toBe(
          family.length > 0 && family.every(({ verdict }) => verdict === "no difference that matters"),
        );
        expect(/within the noise/i.test(text)).toBe(said.has("within the noise"));
        // what claims nothing hangs by no thread
        const claiming = ["steadier", "less steady", "no difference that matters"];
        const hangs = family.some(({ verdict, fragile }) => fragile.length > 0 && claiming.includes(verdict ?? ""));
        expect(/fragile/i.test(text)).toBe(hangs);
        expect(text).not.toMatch(/no effect|proves?\b|significant|NaN|undefined|null|Infinity/i);
        expect(answerSentences(inventedEvaluation({ cells })).every((sentence) => /^[A-Z].*\.$/.test(sentence))).toBe(
          true,
        );
        expect(textWidth(text)).toBeLessThan(1600);
      },
    ),
    { seed: 41, numRuns: 400 },
  );
});
