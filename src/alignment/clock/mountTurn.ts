import { inverseOf, type Three, times } from "../../numeric/symmetricMatrix.ts";
import type { RateGrid } from "./rateGrid.ts";
import type { RefinedOffset } from "./refineOffset.ts";

/** The turn by which the axes of one sight of turning lie against those of another: a rotation vector and its standard errors, rad. */
export interface MountTurn {
  readonly turn: Three;
  readonly standardErrors: Three;
}

/** Seconds taken as independent of each other; fewest of them. */
const blockSeconds = 1;
const fewestBlocks = 8;

/**
 * How an autopilot is mounted in the body as it was defined in the capture, from how both turn: the small rotation vector r that
 * leaves least of  that - reference - r x reference  over the record, with a sandwich error over its seconds.
 *
 * @param that       sight on the other clock, rad/s
 * @param reference  sight on the reference clock
 * @param at         offset and skew between them
 * @returns null where too little is in common, or an axis does not turn
 */
export function mountTurn(that: RateGrid, reference: RateGrid, at: RefinedOffset): MountTurn | null {
  const blocks = blocksOf(that, reference, at);
  if (blocks.length < fewestBlocks) return null;
  const total = sumOf(blocks);
  const inverse = inverseOf(total.a);
  if (inverse === null) return null;
  const turn = times(inverse, total.c);
  const variances: Three = [0, 0, 0];
  for (const { a, c } of blocks) {
    const pull = times(a, turn);
    const alone = times(inverse, [c[0] - pull[0], c[1] - pull[1], c[2] - pull[2]]);
    for (let axis = 0; axis < 3; axis++) variances[axis]! += alone[axis]! ** 2;
  }
  const few = blocks.length / (blocks.length - 3);
  return { turn, standardErrors: variances.map((variance) => Math.sqrt(few * variance)) as Three };
}

/** A sight with its axes turned back by a small turn, so that they lie as the other's. */
export function turnedBack(grid: RateGrid, [rx, ry, rz]: Three): RateGrid {
  const angle = Math.hypot(rx, ry, rz);
  if (!(angle > 0)) return grid;
  const [kx, ky, kz] = [-rx / angle, -ry / angle, -rz / angle];
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  const [x, y, z] = grid.rates;
  const rates = [x.slice(), y.slice(), z.slice()] as [Float64Array, Float64Array, Float64Array];
  // Rodrigues: v cos + (k x v) sin + k (k . v)(1 - cos)
  for (let i = 0; i < x.length; i++) {
    const along = (kx * x[i]! + ky * y[i]! + kz * z[i]!) * (1 - c);
    rates[0][i] = x[i]! * c + (ky * z[i]! - kz * y[i]!) * s + kx * along;
    rates[1][i] = y[i]! * c + (kz * x[i]! - kx * z[i]!) * s + ky * along;
    rates[2][i] = z[i]! * c + (kx * y[i]! - ky * x[i]!) * s + kz * along;
  }
  return { ...grid, rates };
}

/** Normal equations of one second of the record: a r = c. */
interface Block {
  readonly a: readonly Three[];
  readonly c: Three;
}

function blocksOf(that: RateGrid, reference: RateGrid, { offset, skew, at }: RefinedOffset): Block[] {
  const pairs = pairsOf(that, reference, offset, skew, at);
  const perBlock = Math.round(blockSeconds / reference.step);
  const means = [0, 1, 2].map((axis) => [
    meanAt(reference.rates[axis]!, pairs.own),
    meanAt(that.rates[axis]!, pairs.other),
  ]);
  const blocks: Block[] = [];
  for (let from = 0; from < pairs.own.length; ) {
    const block = Math.floor(pairs.own[from]! / perBlock);
    const a: Three[] = [
      [0, 0, 0],
      [0, 0, 0],
      [0, 0, 0],
    ];
    const c: Three = [0, 0, 0];
    let to = from;
    for (; to < pairs.own.length && Math.floor(pairs.own[to]! / perBlock) === block; to++) {
      const v = [0, 1, 2].map((axis) => reference.rates[axis]![pairs.own[to]!]! - means[axis]![0]!) as Three;
      const w = [0, 1, 2].map((axis) => that.rates[axis]![pairs.other[to]!]! - means[axis]![1]!) as Three;
      const square = v[0] ** 2 + v[1] ** 2 + v[2] ** 2;
      for (let i = 0; i < 3; i++) {
        for (let j = 0; j < 3; j++) a[i]![j]! += (i === j ? square : 0) - v[i]! * v[j]!;
        c[i]! += v[(i + 1) % 3]! * w[(i + 2) % 3]! - v[(i + 2) % 3]! * w[(i + 1) % 3]!;
      }
    }
    blocks.push({ a, c });
    from = to;
  }
  return blocks;
}

/** Points of the reference and the nearest of the other, where both are known: every second one, which tells as much. */
function pairsOf(that: RateGrid, reference: RateGrid, offset: number, skew: number, at: number) {
  const own: number[] = [];
  const other: number[] = [];
  for (let i = 0; i < reference.known.length; i += 2) {
    if (reference.known[i] === 0) continue;
    const t = reference.start + i * reference.step;
    const k = Math.round((t + offset + skew * (t - at) - that.start) / that.step);
    if (k < 0 || k >= that.known.length || that.known[k] === 0) continue;
    own.push(i);
    other.push(k);
  }
  return { own, other };
}

function meanAt(values: Float64Array, places: readonly number[]): number {
  return places.reduce((sum, i) => sum + values[i]!, 0) / places.length;
}

function sumOf(blocks: readonly Block[]): { a: Three[]; c: Three } {
  const a = [0, 1, 2].map(
    (i) => [0, 1, 2].map((j) => blocks.reduce((sum, block) => sum + block.a[i]![j]!, 0)) as Three,
  );
  return { a, c: [0, 1, 2].map((i) => blocks.reduce((sum, { c }) => sum + c[i]!, 0)) as Three };
}
