import { type RunValue, runValues } from "../../src/comparison/cellRuns.ts";
import type { FamilyMember } from "../../src/comparison/judgeFamily.ts";
import type { SeededRandom } from "../../src/numeric/seededRandom.ts";
import type { BlockValues } from "../support/runsOf.ts";

/** How many runs of baseline and candidate each block holds; one block: none declared. */
export type Layout = readonly (readonly [baseline: number, candidate: number])[];

/** What invented run values are drawn from. Either configuration has the mean 1, whatever its spread. */
export interface FamilySettings {
  /** one per trajectory */
  readonly layouts: readonly Layout[];
  /** coefficient of variation of baseline and candidate */
  readonly variation: readonly [number, number];
  /** share of a run's variance that all its axes and subjects have in common */
  readonly common: number;
  /** standard deviation of the blocks' effects, part of the mean */
  readonly blocks: number;
}

const cellsOfTrajectory = 6;

/**
 * A family in which the two configurations do not differ: lognormal run values (positive and skewed to the right, as a root
 * mean square is), correlated within a run, plus an effect of the block that both configurations share.
 */
export function simulatedFamily(
  { layouts, variation, common, blocks }: FamilySettings,
  random: SeededRandom,
): FamilyMember[] {
  // of a lognormal with mean 1 and coefficient of variation c: sigma^2 = ln(1 + c^2), mu = -sigma^2/2
  const sigma = variation.map((c) => Math.sqrt(Math.log(1 + c * c))) as [number, number];
  return layouts.flatMap((layout) => {
    const cells: RunValue[][] = Array.from({ length: cellsOfTrajectory }, () => []);
    for (const [b, counts] of layout.entries()) {
      const block = layout.length > 1 ? String(b) : null;
      const effect = cells.map(() => blocks * random.normal());
      for (const label of [0, 1] as const) {
        for (let i = 0; i < counts[label]; i++) {
          const shared = Math.sqrt(common) * random.normal();
          for (const [c, cell] of cells.entries()) {
            const z = shared + Math.sqrt(1 - common) * random.normal();
            const value = Math.exp(sigma[label] * (z - sigma[label] / 2)) + effect[c]!;
            cell.push({ value, candidate: label === 1, block });
          }
        }
      }
    }
    return cells.map((runs) => ({ runs: runValues(runs), margin: null }));
  });
}

/** Normal values of one cell with the means 0 and `difference`. */
export function normalCell(
  layout: Layout,
  sd: readonly [number, number],
  random: SeededRandom,
  { difference = 0, blocks = 0 } = {},
): BlockValues[] {
  return layout.map((counts) => {
    const effect = blocks * random.normal();
    const draw = (label: 0 | 1): number[] =>
      Array.from({ length: counts[label] }, () => effect + label * difference + sd[label] * random.normal());
    return [draw(0), draw(1)];
  });
}
