import type { Cell } from "../../src/contract/cell.ts";
import { inShown } from "../../src/words/amounts.ts";

/** What the drawings of a board's row share: distances from the baseline's mean in the unit read, and the decimals its numbers deserve. */
export interface BoardScale {
  /** from and to, in the unit read */
  readonly domain: readonly [number, number];
  readonly ticks: readonly number[];
}

/**
 * One scale for drawings, so that their lengths can be compared: of a board's row, as one row may scatter tenfold another. Its zero is the baseline's mean (for runs)
 * and no difference (for the interval): both are distances from the baseline, in the same unit.
 *
 * @param cells  of one row; those without a difference still count with their runs
 */
export function boardScale(cells: readonly Cell[]): BoardScale {
  let [least, most] = [0, 0];
  const take = (value: number, unit: Cell["unit"]): void => {
    const shown = inShown(value, unit);
    least = Math.min(least, shown);
    most = Math.max(most, shown);
  };
  for (const cell of cells) {
    for (const value of runDistances(cell)) take(value.distance, cell.unit);
    for (const end of cell.ci95 ?? []) take(end, cell.unit);
    if (cell.difference !== null) take(cell.difference, cell.unit);
    if (cell.smallest_difference !== null) {
      take(cell.smallest_difference, cell.unit);
      take(-cell.smallest_difference, cell.unit);
    }
  }
  if (least === most) [least, most] = [-1, 1];
  const margin = 0.04 * (most - least);
  const domain = [least - margin, most + margin] as const;
  return { domain, ticks: roundTicks(domain, 6) };
}

/** Every run of a cell as its distance from the baseline's mean, SI; empty where there is no such mean. */
export function runDistances({
  baseline,
  candidate,
}: Cell): { run: string; role: "baseline" | "candidate"; distance: number }[] {
  const { mean } = baseline;
  if (mean === null) return [];
  return (
    [
      ["baseline", baseline],
      ["candidate", candidate],
    ] as const
  ).flatMap(([role, side]) =>
    side.values.map((value, k) => ({ run: side.runs[k] ?? "", role, distance: value - mean })),
  );
}

/** Round numbers inside a domain, `most` of them at most, 0 among them where it lies inside. */
export function roundTicks([from, to]: readonly [number, number], most: number): number[] {
  const raw = (to - from) / most;
  const size = 10 ** Math.floor(Math.log10(raw));
  const step = size * ([1, 2, 2.5, 5, 10].find((factor) => factor * size >= raw) ?? 10);
  const ticks: number[] = [];
  for (let k = Math.ceil(from / step); k * step <= to; k++) ticks.push(Number((k * step).toPrecision(12)));
  return ticks;
}
