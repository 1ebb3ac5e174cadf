import { expect, test } from "vitest";
import type { Cell } from "../../src/contract/cell.ts";
import type { PlannedRun } from "../../src/simulation/manifestFor.ts";
import type { SimulatedFlight } from "../../src/simulation/simulateFlight.ts";
import { describeWith } from "../support/available.ts";
import { evaluateFlights, shortFlight, shortManifest } from "./shortCampaign.ts";

const campaigns = 500;

/**
 * A whole campaign from logs to verdicts, 4 v 4 runs, every second one in two blocks of 2 + 2, in which both names stand
 * for one and the same vehicle.
 */
async function sameVehicleTwice(seed: number): Promise<Cell[]> {
  const flights: Record<string, SimulatedFlight> = {};
  const runs: PlannedRun[] = [];
  for (let i = 0; i < 8; i++) {
    const log = `run-${i + 1}.bag`;
    flights[log] = shortFlight(100_000 + 8 * seed + i);
    const block = seed % 2 === 0 ? {} : { block: i < 4 ? "morning" : "noon" };
    const configuration = i % 2 === 0 ? "bare" : "weighted";
    runs.push({ log, id: `run-${i + 1}`, configuration, trajectory: "orbit", ...block });
  }
  const { cells, runs: evaluated } = await evaluateFlights(flights, shortManifest(runs));
  expect(evaluated.filter(({ used }) => used)).toHaveLength(8);
  return cells.filter(({ in_family }) => in_family);
}

describeWith(["slow"], "500 campaigns in which both configurations are one, from logs to verdicts", () => {
  // asked: at most 35. At 5 of 100 some 25 +- 5 are expected; at 7 of 100, 35
  test("at most 35 hold a claim of steadier or less steady", { timeout: 3_600_000 }, async () => {
    let claims = 0;
    let cellsWithRuns = 0;
    for (let seed = 0; seed < campaigns; seed++) {
      const family = await sameVehicleTwice(seed);
      if (family.every(({ baseline, candidate }) => baseline.n === 4 && candidate.n === 4)) cellsWithRuns++;
      if (family.some(({ verdict }) => verdict === "steadier" || verdict === "less steady")) claims++;
    }
    expect(cellsWithRuns).toBe(campaigns);
    expect(claims, `${claims} of ${campaigns} campaigns`).toBeLessThanOrEqual(35);
  });
});
