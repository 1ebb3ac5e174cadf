import { NotFiniteError } from "../foundation/errors.ts";

/** One number per run of both configurations of a cell: columns of equal length. */
export interface RunValues {
  /** metres */
  readonly values: Float64Array;
  /** 1 where the run flew the candidate, 0 for the baseline */
  readonly candidate: Uint8Array;
  /** number of the block the run belongs to, from 0; runs without a block share one */
  readonly block: Int32Array;
  /** how many blocks there are */
  readonly blocks: number;
}

/** What a run brings to a cell. */
export interface RunValue {
  readonly value: number;
  readonly candidate: boolean;
  readonly block: string | null;
}

/**
 * Columns of a cell's runs, blocks numbered in order of appearance.
 *
 * @throws NotFiniteError  NaN or infinity at index i
 */
export function runValues(runs: readonly RunValue[]): RunValues {
  const names = new Map<string | null, number>();
  const values = new Float64Array(runs.length);
  const candidate = new Uint8Array(runs.length);
  const block = new Int32Array(runs.length);
  for (const [i, run] of runs.entries()) {
    if (!Number.isFinite(run.value)) throw new NotFiniteError("runValues", i, run.value);
    if (!names.has(run.block)) names.set(run.block, names.size);
    values[i] = run.value;
    candidate[i] = run.candidate ? 1 : 0;
    block[i] = names.get(run.block)!;
  }
  return { values, candidate, block, blocks: names.size };
}
