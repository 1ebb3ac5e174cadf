import type { RunEvaluation } from "../../src/contract/evaluation.ts";

/** Place of each run in the order flown, from 1: by `started` where every run has one, else as the manifest lists them. */
export function flownOrder(runs: readonly Pick<RunEvaluation, "started">[]): number[] {
  const rows = [...runs.keys()];
  if (runs.every(({ started }) => started !== null)) {
    const at = runs.map(({ started }) => BigInt(started!));
    rows.sort((a, b) => (at[a]! < at[b]! ? -1 : at[a]! > at[b]! ? 1 : a - b));
  }
  const order = new Array<number>(runs.length);
  rows.forEach((row, k) => {
    order[row] = k + 1;
  });
  return order;
}
