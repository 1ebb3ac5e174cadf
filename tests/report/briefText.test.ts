import { expect, test } from "vitest";
import { briefText } from "../../src/report/briefText.ts";
import { textFrame } from "../../src/report/text/layout.ts";
import { inventedCell, inventedEvaluation, inventedFamily, inventedRun } from "../support/inventedEvaluation.ts";

const frame = textFrame({ colour: false });
const longest = (text: string): number => Math.max(...text.split("\n").map((line) => line.length));

test("one screen says the answer, a row per trajectory and subject, the runs lost, and what to do next", () => {
  const cells = inventedFamily(["orbit"], ({ subject, axis }) =>
    subject === "vehicle" && axis === "y"
      ? { verdict: "steadier", mm: [-3.63, -4.43, -2.83], fragile: ["without run-1 it would be another"] }
      : { runs_needed: { low: 6, middle: 12, high: 64 } },
  );
  const runs = [
    inventedRun({ id: "run-1" }),
    inventedRun({ id: "run-2", configuration: "weighted", used: false, excluded_because: "unusable: frozen" }),
  ];
  const text = briefText(inventedEvaluation({ cells, runs }), frame);
  expect(text).toContain("▼ -3.6 [-4.4, -2.8]*");
  expect(text).toContain("1 of 2 runs used");
  expect(text).toContain("  run-2: unusable: frozen");
  expect(text).toContain("up to about 12 runs per configuration");
  expect(longest(text)).toBeLessThanOrEqual(80);
});

test("it never takes more than 45 lines with the two that the command adds, however much there is to say", () => {
  const names = Array.from({ length: 9 }, (_, k) => `trajectory-${k + 1}`);
  const cells = inventedFamily(names, ({ axis }) =>
    axis === "x"
      ? { verdict: "steadier", mm: [-103.63, -204.43, -2.83], fragile: ["one"] }
      : { verdict: "doubted", doubts: ["frame-suspect"] },
  );
  const runs = Array.from({ length: 60 }, (_, k) =>
    inventedRun({
      id: `run-${k}`,
      used: k % 2 === 0,
      excluded_because: k % 2 === 0 ? null : `reason ${k} `.repeat(20),
    }),
  );
  const text = briefText(inventedEvaluation({ title: "long ".repeat(100), cells, runs }), frame);
  expect(text.split("\n").length - 1).toBeLessThanOrEqual(43);
  expect(longest(text)).toBeLessThanOrEqual(80);
  // what does not fit is counted, never dropped in silence
  expect(text).toContain("... and 10 rows more: --full");
  expect(text).toMatch(/\.\.\. and \d+ findings more: --full/);
});

test("without a family it says why there is no verdict, and draws no board", () => {
  const text = briefText(inventedEvaluation({ cells: [inventedCell({ in_family: false, verdict: null })] }), frame);
  expect(text).not.toContain("negative is steadier");
  expect(text).toContain("--full prints all of it");
});
