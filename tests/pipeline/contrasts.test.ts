import { beforeAll, describe, expect, test } from "vitest";
import { type CampaignEvaluation, familySizeOf, pairsOf } from "../../src/contract/evaluation.ts";
import { evaluationJson } from "../../src/pipeline/writeEvaluation.ts";
import { evaluationText } from "../../src/report/evaluationText.ts";
import { cellsTable } from "../../src/report/paper/csvTables.ts";
import type { PlannedRun } from "../../src/simulation/manifestFor.ts";
import type { SimulatedFlight } from "../../src/simulation/simulateFlight.ts";
import { evaluateFlights, shortFlight, shortManifest } from "./shortCampaign.ts";

/** From logs to verdicts with two candidates: `weighted` flies in calm air with a balanced arm, `battery` flies as `bare` does. */

const names = ["bare", "weighted", "battery"] as const;
const calm = {
  air: { force: [0.05, 0.05, 0.05], torque: [0.01, 0.01, 0.004] },
  balance: [0.95, 0.95, 0.95],
} as const;
const planned = names.flatMap((configuration) =>
  [1, 2, 3, 4].map((i): PlannedRun => {
    const id = `${configuration}-${i}`;
    return { log: `${id}.bag`, id, configuration, trajectory: "orbit" };
  }),
);
const manifest = shortManifest(planned, {
  configurations: {
    bare: { label: "Arm alone" },
    weighted: { label: "Counterweights fitted" },
    battery: { label: "Battery moved" },
  },
});
const asked = (lines: string): string => manifest.replace("candidate: weighted\n", lines);

let logs: Record<string, SimulatedFlight>;
let alone: CampaignEvaluation;
let both: CampaignEvaluation;
beforeAll(async () => {
  logs = Object.fromEntries(
    planned.map(({ log, configuration }, i) => [log, shortFlight(500 + i, configuration === "weighted" ? calm : {})]),
  );
  alone = await evaluateFlights(logs, manifest);
  both = await evaluateFlights(
    logs,
    asked("candidates: [weighted, battery]\ncompare: [[weighted, bare], [battery, bare], [battery, weighted]]\n"),
  );
}, 120_000);

const effectorY = ({ cells }: Pick<CampaignEvaluation, "cells">) =>
  cells.find(({ in_family, subject, axis }) => in_family && subject === "effector" && axis === "y")!;

describe("two candidates, one with an effect and one without", () => {
  test("get a verdict each, and the pair of both too", () => {
    expect(pairsOf(both).map((pair) => effectorY(pair).verdict)).toEqual([
      "steadier",
      expect.stringMatching(/^(within the noise|no difference that matters)$/),
      "less steady",
    ]);
    expect(() => evaluationJson(both)).not.toThrow();
  });

  test("one candidate is what it was: no key more, and the numbers of the leading pair but for the family's", () => {
    expect("further_contrasts" in alone).toBe(false);
    const own = effectorY(alone);
    expect(effectorY(both)).toMatchObject({ difference: own.difference, ci95: own.ci95, p: own.p });
    expect(effectorY(both).p_family!).toBeGreaterThan(own.p_family!);
  });

  test("stand one beneath the other on the terminal, each with its pair, the family's size and Holm's p", () => {
    const text = evaluationText(both, { width: 100, colour: false }).replace(/\s+/g, " ");
    expect(text.match(/Verdicts Rms error/g)).toHaveLength(3);
    expect(text).toContain('"Battery moved" minus "Arm alone"');
    expect(text).toContain('"Battery moved" minus "Counterweights fitted"');
    expect(text).toContain("among the 18 of the family (Holm), those of all 3 pairs");
    expect(evaluationText(alone, { width: 100, colour: false })).not.toContain("of the family (Holm), those");
  });

  test("count the whole family, from whichever pair it is seen", () => {
    expect(pairsOf(both).map((pair) => familySizeOf(pair))).toEqual([18, 18, 18]);
    expect(familySizeOf(alone)).toBe(6);
  });

  test("stand in one table, the pair in front; with one candidate the table is as before", () => {
    const lines = cellsTable(both).trimEnd().split("\n");
    expect(lines[0]).toMatch(/^candidate,baseline,trajectory,/);
    expect(lines).toHaveLength(1 + 3 * both.cells.length);
    expect(lines.filter((line) => line.startsWith("battery,weighted,"))).toHaveLength(both.cells.length);
    expect(cellsTable(alone)).toMatch(/^trajectory,subject,/);
  });
});
