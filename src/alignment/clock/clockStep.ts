import { inverseOf, type Three, times } from "../../numeric/symmetricMatrix.ts";
import type { RateGrid } from "./rateGrid.ts";
import { type RefinedOffset, type Scored, scoreBlocks } from "./refineOffset.ts";

/** A clock set again: when, on the reference clock, and by how much its offset is larger after than before, seconds. */
export interface ClockStep {
  readonly at: number;
  readonly size: number;
  readonly standardError: number;
}

const everyAxis = [0, 1, 2];

/** So many seconds that show the motion have to lie on either side of a step. */
const leastBlocks = 4;

/**
 * The step that best explains what an offset with a constant drift leaves between two sights of one motion, wherever it lies.
 *
 * At each second of the record the seconds' scores are fitted by offset, drift and step; the step with the largest ratio to its
 * standard error is kept. The standard error is the sandwich of `refineOffset`, each second freed of its own influence.
 *
 * @param refined  offset and drift that were fitted to the whole
 * @returns null where the record is too short or shows too little
 */
export function clockStep(that: RateGrid, reference: RateGrid, refined: RefinedOffset): ClockStep | null {
  const first = scoreBlocks(that, reference, refined, everyAxis, [1, 1, 1]);
  const weights = first?.variances.map((variance) => (variance > 0 ? 1 / variance : 0));
  const scored = weights && scoreBlocks(that, reference, refined, everyAxis, weights);
  if (!scored) return null;
  const used = scored.sums.used;
  const usedBefore = (end: number): number => used.subarray(0, end).reduce((sum, one) => sum + one, 0);
  const all = usedBefore(used.length);
  let best: ClockStep | null = null;
  for (let b = 1; b < used.length; b++) {
    const before = usedBefore(b);
    if (before < leastBlocks || all - before < leastBlocks) continue;
    const fit = stepAt(scored, b);
    if (fit === null || !(fit.standardError > 0)) continue;
    // few seconds on the shorter side make the error itself uncertain, as Student's t of so many degrees of freedom
    const few = Math.min(before, all - before);
    const standardError = fit.standardError * Math.sqrt(few / (few - 2));
    const found = { size: fit.size, standardError, at: reference.start + b * scored.blockLength };
    if (best === null || ratio(found) > ratio(best)) best = found;
  }
  return best;
}

const ratio = ({ size, standardError }: Pick<ClockStep, "size" | "standardError">): number =>
  Math.abs(size) / standardError;

/** Offset, drift and a step before block `from`, fitted to the scores: the step alone, and its standard error. */
function stepAt({ sums }: Scored, from: number): Pick<ClockStep, "size" | "standardError"> | null {
  const { score0, score1, info00, info01, info11, used } = sums;
  const score = (b: number): Three => [score0[b]!, score1[b]!, b < from ? 0 : score0[b]!];
  const information = (b: number): Three[] => {
    const [a, c, d, step] = [info00[b]!, info01[b]!, info11[b]!, b < from ? 0 : 1];
    return [
      [a, c, step * a],
      [c, d, step * c],
      [step * a, step * c, step * a],
    ];
  };
  const total: Three[] = [
    [0, 0, 0],
    [0, 0, 0],
    [0, 0, 0],
  ];
  const right: Three = [0, 0, 0];
  for (let b = 0; b < used.length; b++) {
    const own = information(b);
    const one = score(b);
    for (let i = 0; i < 3; i++) {
      right[i]! += one[i]!;
      for (let j = 0; j < 3; j++) total[i]![j]! += own[i]![j]!;
    }
  }
  const inverse = inverseOf(total);
  if (inverse === null || !(total[0]![0]! > 0) || !(inverse[2]![2]! > 0)) return null;
  const fitted = times(inverse, right);
  let variance = 0;
  for (let b = 0; b < used.length; b++) {
    if (used[b] === 0) continue;
    const own = information(b);
    const pull = times(own, fitted);
    const left = score(b).map((value, i) => value - pull[i]!) as Three;
    // what a block would have scored, had it not helped to choose: (1 - H_b H^-1)^-1 times its score
    const influence = own.map((row, i) =>
      [0, 1, 2].map((j) => (i === j ? 1 : 0) - row.reduce((sum, value, k) => sum + value * inverse[k]![j]!, 0)),
    ) as Three[];
    const freed = inverseOf(influence);
    const alone = times(inverse, freed === null ? left : times(freed, left))[2]!;
    variance += alone * alone;
  }
  return { size: fitted[2]!, standardError: Math.sqrt(variance) };
}
