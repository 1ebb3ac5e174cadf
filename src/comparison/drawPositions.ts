import { seededRandom } from "../numeric/seededRandom.ts";

/** How many runs a block has, and how many of them are drawn. */
export interface DrawShape {
  readonly runs: number;
  readonly drawn: number;
}

export type Positions = Uint16Array | Uint32Array;

/**
 * Random relabellings: in each draw every block gives its number of positions, without replacement, all subsets alike likely
 * (the first steps of Fisher and Yates's shuffle).
 *
 * Cells of one trajectory share their shape, so a comparison keeps what was drawn (`PositionBook`).
 *
 * @returns per block, draw after draw, the positions drawn
 * @throws CounterpoiseError  code `not-a-seed`
 * @source R. A. Fisher, F. Yates, Statistical Tables (1938), example 12
 */
export function drawPositions(
  shapes: readonly DrawShape[],
  { draws, seed }: { readonly draws: number; readonly seed: number },
): Positions[] {
  const { uniform } = seededRandom(seed);
  return shapes.map(({ runs, drawn }) => {
    // half the memory is half the time of every cell that reads them
    const positions = new (runs > 65_536 ? Uint32Array : Uint16Array)(draws * drawn);
    const order = Uint32Array.from({ length: runs }, (_, i) => i);
    let at = 0;
    for (let draw = 0; draw < draws; draw++) {
      for (let k = 0; k < drawn; k++) {
        const j = k + Math.floor(uniform() * (runs - k));
        const picked = order[j]!;
        order[j] = order[k]!;
        order[k] = picked;
        positions[at++] = picked;
      }
    }
    return positions;
  });
}

/** What was drawn, by shape: a comparison draws once for all cells that have the same numbers of runs. */
export class PositionBook {
  readonly #drawn = new Map<string, Positions[]>();

  take(shapes: readonly DrawShape[], options: { readonly draws: number; readonly seed: number }): Positions[] {
    const key = JSON.stringify([shapes, options.draws, options.seed]);
    let positions = this.#drawn.get(key);
    if (positions === undefined) {
      positions = drawPositions(shapes, options);
      this.#drawn.set(key, positions);
    }
    return positions;
  }
}
