import type { Settings } from "../../contract/settings.ts";
import type { Check } from "../../foundation/checks.ts";
import type { Subject, Window } from "../../foundation/tracks.ts";
import { lowerBound } from "../../numeric/sortedColumns.ts";
import { samplePoints } from "../sampleTrack.ts";
import type { SubjectTrack } from "../subjectTracks.ts";

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
function unexplained({ first, second, cross }: CrossSums, { order, signs }: AxisReading): number {
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
function determinant({ order, signs }: AxisReading): 1 | -1 {
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

/** Response delays that are tried, seconds: the same range as that of the delay itself. */
const delays = Array.from({ length: 25 }, (_, k) => (k <= 20 ? 0.05 * k : 0.05 * (20 - k)));
const mostSamples = 600;
/** A command that moves less than this (standard deviation over its axes) shows no direction, metres. */
const leastMotion = 0.02;

/**
 * Whether the subject moves where it was told to go. Where its own axes leave most of the motion unexplained at any delay,
 * but renamed or reversed ones explain nearly all of it, the capture or the command is in other axes. A mean that is off
 * (another origin) plays no part.
 */
export function directionCheck(
  subject: Subject,
  { t, measured, command }: SubjectTrack,
  scored: Window | null,
  settings: Settings,
): Check[] {
  const from = scored === null ? 0 : lowerBound(t, scored[0]);
  const to = scored === null ? t.length : lowerBound(t, scored[1]);
  const stride = Math.max(1, Math.ceil((to - from) / mostSamples));
  const rows = Uint32Array.from({ length: Math.max(0, Math.floor((to - from) / stride)) }, (_, k) => from + k * stride);
  if (rows.length < 50) return [];
  const at = Float64Array.from(rows, (row) => t[row]!);
  const own = [measured.x, measured.y, measured.z].map((column) => Float64Array.from(rows, (row) => column[row]!));
  const sumsAt = (delay: number): CrossSums | null => {
    const { x, y, z } = samplePoints(command, at, -delay);
    const sums = crossSums(own, [x, y, z]);
    if (sums === null) return null;
    const motion = Math.sqrt((sums.second[0] + sums.second[1] + sums.second[2]) / rows.length);
    return motion < leastMotion ? null : sums;
  };
  let straight = Number.POSITIVE_INFINITY;
  const found: CrossSums[] = [];
  for (const delay of delays) {
    const sums = sumsAt(delay);
    if (sums === null) continue;
    found.push(sums);
    straight = Math.min(straight, unexplained(sums, axisReadings[0]!));
    // nearly every run ends here, at the first delays
    if (straight <= settings.direction_unexplained) return [];
  }
  let best = { left: Number.POSITIVE_INFINITY, reading: axisReadings[0]! };
  for (const sums of found)
    for (const reading of axisReadings.slice(1)) {
      const left = unexplained(sums, reading);
      // of readings that explain equally much the one that changes least: it comes first
      if (left < best.left - 1e-3) best = { left, reading };
    }
  if (!(straight > settings.direction_unexplained && best.left < settings.direction_explained)) return [];
  const mirrored = determinant(best.reading) < 0;
  return [
    {
      code: "frame-suspect",
      severity: "unusable",
      message: `the ${subject} does not move where it was asked to go: ${(100 * Math.min(1, straight)).toFixed(0)} % of the motion is unexplained, but with the command's axes read otherwise (${readingText(best.reading)}) only ${(100 * best.left).toFixed(1)} %${mirrored ? "; such axes are mirrored (left-handed): no turn can do that" : ""}`,
      evidence: {
        subject,
        unexplained: straight,
        unexplained_if_read_so: best.left,
        reading: readingText(best.reading),
        determinant: determinant(best.reading),
      },
      hint: "look at the axes of the capture and of the command (`axes`, `frames: world: up`, `frames: onboard`), and at the order and signs of the columns; nothing was turned",
    },
  ];
}

function crossSums(a: readonly Float64Array[], b: readonly Float64Array[]): CrossSums | null {
  const n = a[0]!.length;
  const known: number[] = [];
  for (let i = 0; i < n; i++) if (Number.isFinite(b[0]![i]! + b[1]![i]! + b[2]![i]!)) known.push(i);
  if (known.length < 50) return null;
  const mean = (column: Float64Array): number => known.reduce((sum, i) => sum + column[i]!, 0) / known.length;
  const meansA = a.map(mean);
  const meansB = b.map(mean);
  const dot = (p: Float64Array, mp: number, q: Float64Array, mq: number): number => {
    let sum = 0;
    for (const i of known) sum += (p[i]! - mp) * (q[i]! - mq);
    return sum;
  };
  const squares = (columns: readonly Float64Array[], means: readonly number[]): [number, number, number] => {
    const [x, y, z] = columns.map((column, k) => dot(column, means[k]!, column, means[k]!));
    return [x!, y!, z!];
  };
  return {
    first: squares(a, meansA),
    second: squares(b, meansB),
    cross: a.map((p, i) => b.map((q, j) => dot(p, meansA[i]!, q, meansB[j]!))),
  };
}
