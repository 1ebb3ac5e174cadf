import { brentMinimum } from "../numeric/brentMinimum.ts";
import { lowerBound } from "../numeric/sortedColumns.ts";

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
/** Most samples used in the first look, and in the second. */
const coarseSamples = 1500;
const fineSamples = 12_000;

/**
 * Response delay: the shift of the command that minimises the summed squared error about its mean over starts, stops and
 * cycles.
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
  const rows = rowsWithin(response.t, span[0] - 1, span[1] + 1.5);
  if (rows.length < 10) return null;
  const few = everyNth(rows, Math.ceil(rows.length / coarseSamples));
  const fine = everyNth(rows, Math.ceil(rows.length / fineSamples));
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
  return brentMinimum((delay) => squaredError(response, fine, delay), centre - coarseStep, centre + coarseStep, 1e-5);
}

function rowsWithin(t: Float64Array, from: number, to: number): Uint32Array {
  const rows = new Uint32Array(t.length);
  let n = 0;
  for (let i = 0; i < t.length; i++) if (t[i]! >= from && t[i]! <= to) rows[n++] = i;
  return rows.subarray(0, n);
}

function everyNth(rows: Uint32Array, n: number): Uint32Array {
  if (n <= 1) return rows;
  const out = new Uint32Array(Math.ceil(rows.length / n));
  for (let k = 0; k < out.length; k++) out[k] = rows[k * n]!;
  return out;
}

/** First and last instant at which the command moves. */
function movingSpan({ commandTimes, command }: Response): [number, number] | null {
  const [x, y, z] = command;
  let first = -1;
  let last = -1;
  for (let i = 1; i < commandTimes.length; i++) {
    const step = Math.abs(x[i]! - x[i - 1]!) + Math.abs(y[i]! - y[i - 1]!) + Math.abs(z[i]! - z[i - 1]!);
    if (!(step > 1e-6)) continue;
    if (first < 0) first = i - 1;
    last = i;
  }
  return first < 0 ? null : [commandTimes[first]!, commandTimes[last]!];
}

/** Root mean square of the command about its mean while it moves, metres. */
function motionSize({ commandTimes, command }: Response, span: readonly [number, number]): number {
  return Math.sqrt(command.reduce((total, column) => total + varianceWithin(commandTimes, column, span), 0));
}

/** Variance from one instant of the command to another. */
function varianceWithin(times: Float64Array, column: Float64Array, [from, to]: readonly [number, number]): number {
  const within = column.subarray(lowerBound(times, from), lowerBound(times, to) + 1);
  const shift = within.find(Number.isFinite) ?? 0;
  const sums = new Float64Array(2);
  const n = addMoments(within, shift, sums);
  return n === 0 ? 0 : Math.max(0, sums[1]! / n - (sums[0]! / n) ** 2);
}

/** Adds up the values less `shift`, and their squares, NaN left out; returns how many there were. */
function addMoments(column: Float64Array, shift: number, sums: Float64Array): number {
  let n = 0;
  for (let i = 0; i < column.length; i++) {
    const value = column[i]! - shift;
    if (Number.isNaN(value)) continue;
    sums[0]! += value;
    sums[1]! += value * value;
    n++;
  }
  return n;
}

/**
 * Mean squared distance between the measured positions and the command `delay` earlier about its mean, over the rows it is
 * known for. A constant offset is bias, not delay: on a one-way motion it would pull the delay.
 */
function squaredError(response: Response, rows: Uint32Array, delay: number): number {
  const sums = new Float64Array(4);
  const n = addErrors(response, rows, delay, sums);
  if (n < 0.5 * rows.length) return Number.POSITIVE_INFINITY;
  const x = sums[0]!;
  const y = sums[1]!;
  const z = sums[2]!;
  return (sums[3]! - (x * x + y * y + z * z) / n) / n;
}

/**
 * Sums of the errors at the rows (x, y, z) and of their squared length; returns how many there were. A loop with nothing
 * behind it: the hottest of all, it is to stay compiled.
 */
function addErrors(response: Response, rows: Uint32Array, delay: number, sums: Float64Array): number {
  const { t, commandTimes } = response;
  const [mx, my, mz] = response.measured;
  const [cx, cy, cz] = response.command;
  let k = 0;
  let n = 0;
  let sumX = 0;
  let sumY = 0;
  let sumZ = 0;
  let squares = 0;
  const begin = commandTimes[0]!;
  const last = commandTimes.length - 1;
  const end = commandTimes[last]!;
  for (let r = 0; r < rows.length; r++) {
    const i = rows[r]!;
    const at = t[i]! - delay;
    if (at < begin || at >= end) continue;
    // in steps that double: of a long flight every hundredth row is looked at, and the command has many points in between
    let stride = 1;
    while (k + stride < last && commandTimes[k + stride]! <= at) {
      k += stride;
      stride *= 2;
    }
    for (stride >>= 1; stride > 0; stride >>= 1) if (k + stride < last && commandTimes[k + stride]! <= at) k += stride;
    const f = (at - commandTimes[k]!) / (commandTimes[k + 1]! - commandTimes[k]!);
    const x = mx[i]! - cx[k]! - f * (cx[k + 1]! - cx[k]!);
    const y = my[i]! - cy[k]! - f * (cy[k + 1]! - cy[k]!);
    const z = mz[i]! - cz[k]! - f * (cz[k + 1]! - cz[k]!);
    const square = x * x + y * y + z * z;
    // NaN: nothing was commanded then
    if (Number.isNaN(square)) continue;
    sumX += x;
    sumY += y;
    sumZ += z;
    squares += square;
    n++;
  }
  sums[0] = sumX;
  sums[1] = sumY;
  sums[2] = sumZ;
  sums[3] = squares;
  return n;
}
