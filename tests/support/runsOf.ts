import { type RunValue, type RunValues, runValues } from "../../src/comparison/cellRuns.ts";

/** The runs of a block: values of the baseline's and of the candidate's. */
export type BlockValues = readonly [baseline: readonly number[], candidate: readonly number[]];

/** Run values of a cell, no blocks. */
export function runsOf(baseline: readonly number[], candidate: readonly number[]): RunValues {
  return runValues(listed([[baseline, candidate]]).map((run) => ({ ...run, block: null })));
}

/** Run values of a cell, block by block. */
export function blockedRunsOf(blocks: readonly BlockValues[]): RunValues {
  return runValues(listed(blocks));
}

/** The same one by one, blocks named "block 1" and so on; baseline before candidate in every block. */
export function listed(blocks: readonly BlockValues[]): RunValue[] {
  return blocks.flatMap(([baseline, candidate], b) =>
    [baseline, candidate].flatMap((side, label) =>
      side.map((value) => ({ value, candidate: label === 1, block: `block ${b + 1}` })),
    ),
  );
}
