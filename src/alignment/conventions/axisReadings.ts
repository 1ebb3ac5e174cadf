/** Another way to read three axes: component i of the one is `signs[i]` times component `order[i]` of the other. */
export interface AxisReading {
  readonly order: readonly [number, number, number];
  readonly signs: readonly [number, number, number];
}

/** Sums of two sights of one motion, each about its mean. */
export interface CrossSums {
  /** sum of squares of each component of the first and of the second */
  readonly first: readonly [number, number, number];
  readonly second: readonly [number, number, number];
  /** cross[i][j]: component i of the first times component j of the second */
  readonly cross: readonly (readonly number[])[];
}

const names = ["x", "y", "z"] as const;
const orders: readonly AxisReading["order"][] = [
  [0, 1, 2],
  [1, 0, 2],
  [0, 2, 1],
  [2, 1, 0],
  [1, 2, 0],
  [2, 0, 1],
];
const signsOf = (k: number): AxisReading["signs"] => [k & 1 ? -1 : 1, k & 2 ? -1 : 1, k & 4 ? -1 : 1];

/** All 48 ways to rename and reverse three axes, those that change least first. */
export const axisReadings: readonly AxisReading[] = orders
  .flatMap((order) => Array.from({ length: 8 }, (_, k): AxisReading => ({ order, signs: signsOf(k) })))
  .sort((a, b) => changes(a) - changes(b));

/** How many components are not what they are called. */
function changes({ order, signs }: AxisReading): number {
  return order.filter((axis, i) => axis !== i).length + signs.filter((sign) => sign < 0).length;
}

/**
 * Share of the motion that a reading leaves unexplained: the sum of squares of first minus reading(second), over the mean
 * of both sums of squares. 0: they are the same motion; 2: the opposite one.
 */
export function unexplained({ first, second, cross }: CrossSums, { order, signs }: AxisReading): number {
  const a = first[0] + first[1] + first[2];
  const b = second[0] + second[1] + second[2];
  let common = 0;
  for (let i = 0; i < 3; i++) common += signs[i]! * cross[i]![order[i]!]!;
  return (a + b - 2 * common) / (0.5 * (a + b));
}

/** The share of what two sights have in common, whatever their scales: 1 for the same direction throughout. */
export function agreement({ first, second, cross }: CrossSums, { order, signs }: AxisReading): number {
  let common = 0;
  for (let i = 0; i < 3; i++) common += signs[i]! * cross[i]![order[i]!]!;
  const size = Math.sqrt((first[0] + first[1] + first[2]) * (second[0] + second[1] + second[2]));
  return size > 0 ? common / size : 0;
}

/** +1 for a turn of the axes, -1 for a mirrored (left-handed) one. */
export function determinant({ order, signs }: AxisReading): 1 | -1 {
  const odd = order.filter((axis, i) => axis !== i).length === 2;
  return (odd ? -1 : 1) * signs[0] * signs[1] * signs[2] > 0 ? 1 : -1;
}

/** In words: "x reads y, y reads -x". */
export function readingText({ order, signs }: AxisReading): string {
  return order
    .flatMap((axis, i) =>
      axis === i && signs[i] === 1 ? [] : [`${names[i]} reads ${signs[i] === 1 ? "" : "-"}${names[axis]}`],
    )
    .join(", ");
}
