import { goldenMinimum } from "../numeric/goldenMinimum.ts";

/** Positions at instants, and a command as a curve that is linear between its points (NaN: nothing commanded). */
export interface Response {
  readonly t: Float64Array;
  readonly measured: readonly [Float64Array, Float64Array, Float64Array];
  readonly commandTimes: Float64Array;
  readonly command: readonly [Float64Array, Float64Array, Float64Array];
}

export interface DelayOptions {
  /** search range, seconds */
  readonly from: number;
  readonly to: number;
  /** a second minimum within this share of the first makes the delay unknown */
  readonly rival: number;
  /** the command must move by at least this, metres (root mean square about its mean) */
  readonly leastMotion: number;
}

/** Step of the first look, seconds. */
const coarseStep = 0.02;
/** Most samples used in the first look. */
const coarseSamples = 1500;

/**
 * Response delay: the shift of the command that minimises the summed squared error over starts, stops and cycles.
 *
 * Positive where the motion comes after its command. It is reported beside the error, never taken out of it in silence:
 * a late response is an error that the task feels.
 *
 * @returns seconds; null where the command moves too little, where two shifts explain the motion nearly equally well
 *   (a cyclic command without its starts and stops), or where the best shift lies at the end of the range
 */
export function responseDelay(response: Response, options: DelayOptions): number | null {
  const span = movingSpan(response);
  if (span === null || motionSize(response, span) < options.leastMotion) return null;
  const rows: number[] = [];
  for (let i = 0; i < response.t.length; i++) {
    if (response.t[i]! >= span[0] - 1 && response.t[i]! <= span[1] + 1.5) rows.push(i);
  }
  if (rows.length < 10) return null;
  const stride = Math.ceil(rows.length / coarseSamples);
  const few = rows.filter((_, k) => k % stride === 0);
  const count = Math.round((options.to - options.from) / coarseStep);
  const costs = Array.from({ length: count + 1 }, (_, k) => squaredError(response, few, options.from + k * coarseStep));
  const best = costs.indexOf(Math.min(...costs));
  if (best === 0 || best === count) return null;
  const rival = costs.some((cost, k) => {
    const localMinimum = k > 0 && k < count && cost <= costs[k - 1]! && cost <= costs[k + 1]!;
    return localMinimum && Math.abs(k - best) > 1 && cost <= (1 + options.rival) * costs[best]!;
  });
  if (rival) return null;
  const centre = options.from + best * coarseStep;
  return goldenMinimum((delay) => squaredError(response, rows, delay), centre - coarseStep, centre + coarseStep, 1e-5);
}

/** First and last instant at which the command moves. */
function movingSpan({ commandTimes, command }: Response): [number, number] | null {
  let first = -1;
  let last = -1;
  for (let i = 1; i < commandTimes.length; i++) {
    const moved = command.some((column) => Math.abs(column[i]! - column[i - 1]!) > 1e-6);
    if (!moved) continue;
    if (first < 0) first = i - 1;
    last = i;
  }
  return first < 0 ? null : [commandTimes[first]!, commandTimes[last]!];
}

function motionSize({ commandTimes, command }: Response, span: readonly [number, number]): number {
  let total = 0;
  for (const column of command) {
    let sum = 0;
    let squares = 0;
    let n = 0;
    for (let i = 0; i < column.length; i++) {
      if (commandTimes[i]! < span[0] || commandTimes[i]! > span[1] || !Number.isFinite(column[i]!)) continue;
      sum += column[i]!;
      n++;
    }
    for (let i = 0; i < column.length; i++) {
      if (commandTimes[i]! < span[0] || commandTimes[i]! > span[1] || !Number.isFinite(column[i]!)) continue;
      squares += (column[i]! - sum / n) ** 2;
    }
    total += squares / Math.max(1, n);
  }
  return Math.sqrt(total);
}

/** Mean squared distance between the measured positions and the command `delay` earlier, over the rows it is known for. */
function squaredError(
  { t, measured, commandTimes, command }: Response,
  rows: readonly number[],
  delay: number,
): number {
  let k = 0;
  let sum = 0;
  let n = 0;
  const last = commandTimes.length - 1;
  for (const i of rows) {
    const at = t[i]! - delay;
    if (at < commandTimes[0]! || at > commandTimes[last]!) continue;
    while (k < last && commandTimes[k + 1]! <= at) k++;
    const next = Math.min(k + 1, last);
    const width = commandTimes[next]! - commandTimes[k]!;
    const f = width > 0 ? (at - commandTimes[k]!) / width : 0;
    let squares = 0;
    for (let axis = 0; axis < 3; axis++) {
      const column = command[axis]!;
      const asked = f === 0 ? column[k]! : column[k]! + f * (column[next]! - column[k]!);
      squares += (measured[axis]![i]! - asked) ** 2;
    }
    if (!Number.isFinite(squares)) continue;
    sum += squares;
    n++;
  }
  return n < 0.5 * rows.length ? Number.POSITIVE_INFINITY : sum / n;
}
