import type { InfluenceRun } from "../../src/comparison/imbalance/imbalanceFit.ts";
import type { SeededRandom } from "../../src/numeric/seededRandom.ts";

/** A linear plant whose truth is known: vector = rest + sum of influence x place, with what varies from run to run. */
export interface InfluencePlant {
  /** six numbers: at the place 0, millimetres */
  readonly rest: readonly number[];
  /** per direction, six numbers */
  readonly influence: readonly (readonly number[])[];
  /** one per setting: coordinates along the directions, and runs per block */
  readonly places: readonly (readonly number[])[];
  readonly runs: readonly number[];
  readonly blocks?: number;
  /** standard deviation of each number, whatever the vector; per setting, or the same for all */
  readonly noise: readonly number[] | readonly (readonly number[])[];
  /** of a run's gain and (radians) phase, which scale and turn its vector; per setting */
  readonly gain?: readonly number[];
  /** of a block's own vector */
  readonly blockSpread?: number;
}

/** A campaign of that plant, and the mean of what its blocks brought. */
export function flownPlant(
  plant: InfluencePlant,
  random: SeededRandom,
): { runs: InfluenceRun[]; blockMean: Float64Array } {
  const { rest, influence, places, runs: counts, blocks = 1, gain = [], blockSpread = 0 } = plant;
  const blockMean = new Float64Array(6);
  const runs: InfluenceRun[] = [];
  for (let block = 0; block < blocks; block++) {
    const effect = rest.map(() => blockSpread * random.normal());
    for (const [c, value] of effect.entries()) blockMean[c]! += value / blocks;
    for (const [setting, place] of places.entries()) {
      const truth = vectorOf(plant, place);
      const noise = (Array.isArray(plant.noise[0]) ? plant.noise[setting] : plant.noise) as readonly number[];
      for (let i = 0; i < counts[setting]!; i++) {
        const scale = (gain[setting] ?? 0) * random.normal();
        const turn = (gain[setting] ?? 0) * random.normal();
        const vector = truth.map((value, c) => {
          const other = truth[c ^ 1]! * (c % 2 === 0 ? -1 : 1);
          return value * (1 + scale) + turn * other + noise[c]! * random.normal() + effect[c]!;
        });
        runs.push({ vector: Float64Array.from(vector), setting, place: Float64Array.from(place), block });
      }
    }
  }
  return { runs, blockMean };

  function vectorOf({ rest: at }: InfluencePlant, place: readonly number[]): number[] {
    return at.map((value, c) => value + influence.reduce((sum, column, j) => sum + column[c]! * place[j]!, 0));
  }
}

/** Where the plant's vector is shortest, by the two or one normal equations. */
export function bestOfPlant({ rest, influence }: InfluencePlant, blockMean: ArrayLike<number>): number[] {
  const at = rest.map((value, c) => value + blockMean[c]!);
  const dot = (a: readonly number[], b: readonly number[]): number =>
    a.reduce((sum, value, c) => sum + value * b[c]!, 0);
  const [a, b] = influence as readonly [readonly number[], (readonly number[])?];
  if (b === undefined) return [-dot(a, at) / dot(a, a)];
  const [aa, ab, bb, ay, by] = [dot(a, a), dot(a, b), dot(b, b), -dot(a, at), -dot(b, at)];
  const determinant = aa * bb - ab * ab;
  return [(bb * ay - ab * by) / determinant, (aa * by - ab * ay) / determinant];
}
