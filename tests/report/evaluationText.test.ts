import { expect, test } from "vitest";
import type { CampaignEvaluation, RunEvaluation } from "../../src/contract/evaluation.ts";
import { checkEvaluation } from "../../src/pipeline/writeEvaluation.ts";
import { evaluationText } from "../../src/report/evaluationText.ts";
import { textWidth } from "../../src/report/text/layout.ts";
import { inventedEvaluation, inventedFamily, inventedRun } from "../support/inventedEvaluation.ts";

const plain = (evaluation: CampaignEvaluation, notes = false): string =>
  evaluationText(evaluation, { colour: false, notes });
/** the text without its line breaks, for sentences that are wrapped */
const flowing = (evaluation: CampaignEvaluation, notes = false): string =>
  plain(evaluation, notes).replace(/\s+/g, " ");
const esc = String.fromCharCode(27);

const frozen = checkEvaluation({
  code: "frozen",
  severity: "unusable",
  message: "vehicle_pose: 310 poses that repeat exactly",
  evidence: {},
  hint: "fly it again",
});
const gap: RunEvaluation["checks"][number] = {
  ...frozen,
  code: "gap",
  severity: "doubt",
  message: "60 samples missing",
  hint: "look for occluded markers",
};
const stampNote: RunEvaluation["checks"][number] = {
  ...frozen,
  code: "stamp-log-used",
  severity: "note",
  message: "no header stamp",
  hint: "",
};

// 1, 2, 3 mm: mean 2, sd sqrt((1 + 0 + 1) / 2) = 1. 0.5, 0.7: mean 0.6, sd sqrt((0.01 + 0.01) / 1) = 0.1414.
// y and z are two and three times x, the norm five times; bias is minus a half, range four times the rms. By hand.
test("the table of a trajectory shows mean and sd over runs, in millimetres", () => {
  const rows = plain(inventedEvaluation()).split("\n");
  const numbers = (label: string): string[] =>
    rows.filter((row) => row.startsWith(`  ${label} `)).map((row) => row.trim());
  expect(numbers("rms").slice(0, 2)).toEqual([
    "rms               2.00 ± 1.00     4.00 ± 2.00     6.00 ± 3.00    10.00 ± 5.00",
    "rms               0.60 ± 0.14     1.20 ± 0.28     1.80 ± 0.42     3.00 ± 0.71",
  ]);
  expect(numbers("bias")[0]).toMatch(/^bias +-1\.00 ± 0\.50 +-2\.00 ± 1\.00 +-3\.00 ± 1\.50 +-5\.00 ± 2\.50$/);
  expect(numbers("range")[0]).toMatch(/^range +8\.00 ± 4\.00 +16\.00 ± 8\.00 +24\.00 ± 12\.00 +–$/);
  // sqrt(3) tenths of the size: 0.1732 times 2 and 1
  expect(numbers("synchronous")[0]).toMatch(/^synchronous( +0\.20 ± 0\.10){3} +0\.35 ± 0\.17$/);
});

test("the noise floor is a line of its own, its norm the root of the summed squares", () => {
  // 0.2, 0.3, 0.6 mm: sqrt(0.04 + 0.09 + 0.36) = 0.7
  expect(plain(inventedEvaluation())).toMatch(/Noise floor, sd +0\.20 +0\.30 +0\.60 +0\.70\n/);
});

test("the response delay stands beside its configuration, in milliseconds, and says of how many runs it is", () => {
  const text = plain(inventedEvaluation());
  // 40, 50, 60 ms: mean 50, sd 10
  expect(text).toContain("Arm alone, n = 3; response delay 50.0 ± 10.0 ms");
  expect(text).toContain("Counterweights fitted, n = 2; response delay n/a");
  const runs = [inventedRun({ id: "a", delay: 0.04 }), inventedRun({ id: "b", delay: 0.06 }), inventedRun({ id: "c" })];
  expect(plain(inventedEvaluation({ runs }))).toContain("response delay 50.0 ± 14.1 ms (2 of 3 runs)");
});

test("every table names the motion-capture topic that is its truth", () => {
  const text = flowing(inventedEvaluation());
  expect(text.match(/Truth: motion capture \/mocap\/airframe\./g)).toHaveLength(2);
  expect(text.match(/Truth: motion capture \/mocap\/tool\./g)).toHaveLength(2);
});

test("hover drift counts the runs whose slope interval leaves zero out", () => {
  const runs = [
    inventedRun({ id: "a", size: 0.001, slopeCi: [0.00001, 0.0002] }),
    inventedRun({ id: "b", size: 0.002, slopeCi: [-0.0002, -0.00001] }),
    inventedRun({ id: "c", size: 0.003, slopeCi: [-0.0001, 0.0001] }),
  ];
  const text = plain(inventedEvaluation({ runs }));
  expect(text).toMatch(/ {2}clear of 0( +2 of 3 runs){3}\n/);
  // slopes 0.1, 0.2, 0.3 mm/s; radii 1, 2, 3 and 2, 4, 6 mm
  expect(text).toMatch(/ {2}slope, mm\/s( +0\.200 ± 0\.100){3}\n/);
  expect(text).toContain("  horizontal, about the mean: R50 2.00 ± 1.00, R95 4.00 ± 2.00\n");
});

test("a run alone shows a dash for the spread between runs, and says why", () => {
  const text = flowing(inventedEvaluation({ runs: [inventedRun({ id: "only", size: 0.002 })] }));
  expect(text).toContain("rms 2.00 ± – 4.00 ± – 6.00 ± – 10.00 ± –");
  expect(text).toContain("one run has no spread between runs");
});

test("runs left out are listed with the reason, and counted per configuration", () => {
  const runs: RunEvaluation[] = [
    inventedRun({ id: "run-1" }),
    inventedRun({ id: "run-2", used: false, excluded_because: "arm jammed in cycle 4" }),
    inventedRun({ id: "run-3", used: false, excluded_because: "unusable: frozen", checks: [frozen] }),
    inventedRun({
      id: "run-4",
      used: false,
      excluded_because: "aborted",
      outcome: "aborted",
      configuration: "weighted",
    }),
  ];
  const text = plain(inventedEvaluation({ runs }));
  expect(text).toContain("1 of 4 runs used.");
  // filed, used, unusable, excluded, aborted
  expect(text).toMatch(/Arm alone \(bare, baseline\) +3 +1 +1 +1 +0\n/);
  expect(flowing(inventedEvaluation({ runs }))).toMatch(
    /Counterweights fitted \(weighted, candidate\) 1 0 0 0 1 |fitted \(weighted,.* 1 0 0 0 1/,
  );
  expect(text).toContain('run-2 (Arm alone, orbit, block day1): excluded, "arm jammed in cycle 4"\n');
  expect(text).toContain("run-3 (Arm alone, orbit, block day1): unusable\n  unusable: frozen: vehicle_pose: 310 poses");
  expect(text).toContain("    what to do: fly it again\n");
  expect(text).toContain("run-4 (Counterweights fitted, orbit, block day1): aborted\n");
  expect(text).toContain("Counterweights fitted, n = 0: no used run\n");
});

test("a run that a person put back is named with the reason, also where it could not be used", () => {
  const runs = [
    inventedRun({ id: "run-1", put_back_because: "the arm jammed after the last cycle" }),
    inventedRun({
      id: "run-2",
      used: false,
      excluded_because: "unusable: frozen",
      checks: [frozen],
      put_back_because: "looks well",
    }),
  ];
  const text = plain(inventedEvaluation({ runs }));
  expect(text).toContain('Put back by hand: 2\nrun-1: "the arm jammed after the last cycle"\n');
  expect(text).toContain('run-2: "looks well"; not used all the same: unusable\n');
});

test("doubtful runs that were used are named with what and what to do; a hint that repeats is reported once", () => {
  const runs = [inventedRun({ id: "run-1", checks: [gap, { ...gap, message: "12 samples missing" }] })];
  const text = plain(inventedEvaluation({ runs }));
  expect(text).toContain("Doubtful runs, used all the same: 1\n");
  expect(text).toContain("  doubt: gap: 60 samples missing\n  doubt: gap: 12 samples missing\n    what to do: look");
});

const confounded: RunEvaluation["checks"][number] = {
  ...gap,
  code: "confounded",
  message: "no block of orbit holds both configurations",
  hint: "fly both configurations in every block",
};

test("what is confounded is reported once per trajectory, with the number of its runs, not for every run", () => {
  const runs = [1, 2, 3].map((n) => inventedRun({ id: `run-${n}`, checks: [confounded] }));
  const reach = inventedRun({
    id: "run-4",
    trajectory: "reach",
    checks: [gap, { ...confounded, message: "only one block of reach holds both configurations" }],
  });
  const text = plain(inventedEvaluation({ runs: [...runs, reach] }));
  expect(text).toContain(
    [
      "Doubtful runs, used all the same: 1",
      "run-4 (Arm alone, reach, block day1)",
      "  doubt: gap: 60 samples missing",
      "    what to do: look for occluded markers",
      "",
      "Confounded trajectories: 2",
      "orbit (3 used runs)",
      "  doubt: confounded: no block of orbit holds both configurations",
      "    what to do: fly both configurations in every block",
      "reach (1 used run)",
      "  doubt: confounded: only one block of reach holds both configurations",
      "    what to do: fly both configurations in every block",
      "",
    ].join("\n"),
  );
  expect(text.match(/confounded:/g)).toHaveLength(2);
  expect(plain(inventedEvaluation({ runs }))).toContain(
    "No run is doubtful by itself, none was left out.\n\nConfounded trajectories: 1\norbit (3 used runs)\n",
  );
});

test("tables and lists tell configurations of one label apart by their keys", () => {
  const base = inventedEvaluation();
  const arm = { label: "Swab arm", added_mass: null, counterweights: [] };
  const settings = { ...base.settings, configurations: { bare: arm, weighted: arm } };
  const runs = [
    inventedRun({ id: "run-1", checks: [gap] }),
    inventedRun({ id: "run-2", configuration: "weighted", checks: [gap] }),
  ];
  const text = plain(inventedEvaluation({ settings, runs }));
  expect(text).toContain("\nrun-1 (Swab arm (bare), orbit, block day1)\n");
  expect(text).toContain("\nrun-2 (Swab arm (weighted), orbit, block day1)\n");
  // two tables of tracking errors, two of hover drift
  expect(text.match(/^Swab arm \(bare\), n = 1/gm)).toHaveLength(4);
  expect(text.match(/^Swab arm \(weighted\), n = 1/gm)).toHaveLength(4);
  expect(text).toMatch(/^Swab arm \(bare, baseline\) /m);
});

test("notes are counted, and listed where that is asked for", () => {
  const runs = [1, 2, 3].map((n) => inventedRun({ id: `run-${n}`, checks: [stampNote] }));
  const evaluation = inventedEvaluation({ runs });
  expect(plain(evaluation)).toContain("  stamp-log-used 3. --notes lists them.\n");
  expect(plain(evaluation)).not.toContain("no header stamp");
  expect(plain(evaluation, true)).toContain("  run-2: stamp-log-used: no header stamp\n");
  expect(plain(evaluation)).toContain("No run is doubtful, none was left out.");
});

test("a trajectory of rest only is shown in its hold window", () => {
  const runs = [1, 2].map((n) => {
    const run = inventedRun({ id: `run-${n}` });
    return { ...run, tracking: { ...run.tracking, cycles: null }, synchronous: null };
  });
  const text = flowing(inventedEvaluation({ runs }));
  expect(text).toContain("Vehicle: tracking error in the hold window, mm;");
  expect(text).toContain("Range over the 15.0 s that all used runs have.");
  expect(text).not.toContain("synchronous");
});

/** Evaluations in which much is missing or too long. */
function awkward(): CampaignEvaluation[] {
  const base = inventedEvaluation();
  const bare: RunEvaluation = {
    ...inventedRun({ id: "nothing" }),
    block: null,
    epoch: null,
    tracking: { cycles: null, hold: null },
    hold: null,
    synchronous: null,
    windows: { hold: null, cycles: [] },
    period: null,
    valid_fraction: {},
  };
  const vehicleOnly = inventedRun({ id: "vehicle-only", slopeCi: [0, 1] });
  const { vehicle } = vehicleOnly.tracking.cycles!;
  const hover = vehicleOnly.hold!.vehicle!;
  const slopeless = { ...hover, x: { ...hover.x, slope: null, slope_ci: null } };
  const long = "Counterweights of an uncommonly long name that no table was ever made for, fitted fore and aft";
  return [
    inventedEvaluation({ runs: [] }),
    inventedEvaluation({ runs: [bare] }),
    inventedEvaluation({ runs: [{ ...bare, used: false, excluded_because: "why not" }], noise: null }),
    inventedEvaluation({
      runs: [{ ...vehicleOnly, tracking: { cycles: { vehicle: vehicle! }, hold: null }, hold: { vehicle: slopeless } }],
      noise: { ...base.noise!, source: "in flight", effector: null },
      settings: {
        ...base.settings,
        truth: { vehicle: "/mocap/airframe", effector: null },
        common_cycles: {},
        common_hold: {},
      },
    }),
    // a vehicle that ran away by a kilometre
    inventedEvaluation({ runs: [1, 2].map((n) => inventedRun({ id: `far-${n}`, size: 1000 * n, delay: 0.9 })) }),
    // micrometres
    inventedEvaluation({ runs: [1, 2].map((n) => inventedRun({ id: `near-${n}`, size: 1e-7 * n, delay: -0.2 })) }),
    inventedEvaluation({
      title: `${long}, ${long}`,
      cells: inventedFamily([long, "orbit", "重り付き 🛠"], ({ axis }) => ({
        mm: axis === "y" ? null : [-1e6, -1e7, -1e-9],
        fragile: [`${long} ${"z".repeat(150)}`],
        ...(axis === "z" ? { verdict: "steadier" as const } : {}),
      })),
      settings: {
        ...base.settings,
        configurations: {
          bare: { label: long, added_mass: null, counterweights: [] },
          weighted: { label: "重り付き 🛠", added_mass: null, counterweights: [] },
        },
        trajectories: { orbit: `${long} ${long}` },
        truth: { vehicle: `/mocap/${"a".repeat(120)}`, effector: `/mocap/${"b".repeat(90)}` },
      },
      runs: [
        inventedRun({ id: "x".repeat(100), checks: [{ ...gap, message: "y".repeat(200), hint: `${long} ${long}` }] }),
        inventedRun({
          id: "run-2",
          configuration: "weighted",
          used: false,
          excluded_because: long,
          checks: [{ ...frozen, message: long }, stampNote],
        }),
        inventedRun({ id: "run-3", configuration: "never-declared", trajectory: "nor this" }),
      ],
    }),
  ];
}

test("no line is wider than asked for, whatever is missing or long", () => {
  for (const evaluation of [inventedEvaluation(), ...awkward()])
    for (const notes of [true, false])
      for (const width of [60, 80, 120])
        for (const line of evaluationText(evaluation, { colour: false, notes, width }).split("\n"))
          expect(textWidth(line), line).toBeLessThanOrEqual(width);
});

test("nothing that is no number is printed as one", () => {
  for (const evaluation of [inventedEvaluation(), ...awkward()])
    expect(plain(evaluation, true)).not.toMatch(/NaN|undefined|null|Infinity|\[object|-0\.0+\b(?!\d)/);
});

test("without cells nothing shown claims a difference, and the answer says that there is none", () => {
  for (const evaluation of [inventedEvaluation(), ...awkward().filter(({ cells }) => cells.length === 0)]) {
    expect(plain(evaluation)).not.toMatch(/differen|steadier|less steady|better|worse|significant/i);
    expect(plain(evaluation)).toContain("\n\nNo verdict: ");
  }
});

test("the answer comes first, then board, doubtful runs and what to fly; what it rests on follows", () => {
  const cells = inventedFamily(["orbit"], ({ axis }) =>
    axis === "x"
      ? { verdict: "steadier", mm: [-1, -1.5, -0.5], fragile: ["without run-4 it would be open"] }
      : { runs_needed: { low: 6, middle: 9, high: 21 } },
  );
  const runs = [inventedRun({ id: "run-1", checks: [gap] }), inventedRun({ id: "run-2", configuration: "weighted" })];
  const text = plain(inventedEvaluation({ cells, runs }));
  const parts = [
    'Invented campaign\n\nWith "Counterweights fitted" instead of "Arm alone", the vehicle and the',
    "\n\nVerdicts\n",
    "\n▼ steadier; ",
    "\n[1] orbit, vehicle along x: fragile: without run-4 it would be open.\n[2] orbit, effector along x: fragile",
    "\nDoubtful runs, used all the same: 1\n",
    "\n\nWhat it would take to settle what is open\n",
    "\n\n2 of 2 runs used.\n",
    "\n\norbit: circle in yz",
    "\n\nHover drift\n",
    "\n\nCounterpoise judges logs.",
  ];
  const places = parts.map((part) => text.indexOf(part));
  expect(places).not.toContain(-1);
  expect(places).toEqual([...places].sort((a, b) => a - b));
});

test("the caution closes the text", () => {
  expect(flowing(inventedEvaluation())).toMatch(/It never says that a vehicle is safe to fly: [^.]+ prevail\. $/);
});

test("emphasis appears only in colour, and the words are the same without it", () => {
  const runs = [
    inventedRun({ id: "run-1", checks: [gap] }),
    inventedRun({ id: "run-2", used: false, checks: [frozen] }),
  ];
  const evaluation = inventedEvaluation({ runs });
  const coloured = evaluationText(evaluation, { colour: true });
  expect(plain(evaluation)).not.toContain(esc);
  expect(coloured).toContain(`${esc}[1m`);
  expect(coloured.replaceAll(new RegExp(`${esc}\\[\\d+m`, "g"), "")).toBe(plain(evaluation));
});

test("a control sequence in a name does not reach the terminal", () => {
  const message = `topic /a${esc}[2J\nforged line`;
  const runs = [inventedRun({ id: `run${esc}]0;x`, checks: [{ ...gap, message }] })];
  const text = plain(inventedEvaluation({ runs, title: `wiped${esc}[2J` }));
  expect(text).not.toContain(esc);
  expect(text).toContain("wiped\\x1b[2J\n");
  expect(text).toContain("doubt: gap: topic /a\\x1b[2J forged line\n");
});

test("each clock's offset over the used runs is reported with its standard error and origin", () => {
  const clock = (offset: number, error: number | null): RunEvaluation["clocks"] => ({
    mocap: {
      offset,
      offset_se: error,
      skew: 0,
      skew_se: null,
      source: "gyro against attitude",
      second_peak_ratio: null,
      ambiguous: false,
    },
  });
  const runs = [
    inventedRun({ id: "a", clocks: clock(-0.1372, 0.0004) }),
    inventedRun({ id: "b", clocks: clock(0.0821, 0.0006) }),
    inventedRun({ id: "c", clocks: clock(5, 1), used: false, excluded_because: "clock lost" }),
  ];
  expect(flowing(inventedEvaluation({ runs }))).toContain(
    "Clock mocap: -137.2 ms to 82.1 ms against the reference clock, standard error up to 0.60 ms (gyro against attitude).",
  );
  const known = [inventedRun({ id: "a", clocks: clock(-1_700_000_000.25, null) })];
  expect(flowing(inventedEvaluation({ runs: known }))).toContain(
    "Clock mocap: -1700000000.2500 s against the reference clock (gyro against attitude).",
  );
});

test("used runs without an error in the window are not silently missing from a table", () => {
  const bare = inventedRun({ id: "b" });
  const runs = [inventedRun({ id: "a" }), { ...bare, tracking: { ...bare.tracking, cycles: null } }];
  const text = flowing(inventedEvaluation({ runs }));
  expect(text).toContain("Arm alone, n = 1;");
  expect(text).toContain("1 used run has no vehicle error in this window.");
});
