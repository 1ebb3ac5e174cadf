import type { Settings } from "../contract/settings.ts";
import type { RecordedSignal } from "../foundation/recording.ts";
import type { PoseTrack, Window } from "../foundation/tracks.ts";
import { extent } from "../numeric/descriptive.ts";
import { gatherBy, lowerBound } from "../numeric/sortedColumns.ts";
import { type AttitudeColumns, attitudeColumns } from "./attitude.ts";
import type { CommandSamples } from "./cycles/waveform.ts";
import { medianInterval } from "./poseFaults.ts";

/**
 * What was commanded, as a curve that is linear between its points: a command that holds is drawn as steps, and NaN
 * points part stretches in which nothing was commanded. Times strictly increase.
 */
export interface CommandTrack extends PoseTrack {
  /** what the command means between two messages */
  readonly between: "hold" | "linear";
  /** where the attitude comes from: the message, its yaw alone, or nowhere (level, yaw 0) */
  readonly attitude: AttitudeColumns["attitude"];
  /** messages without an attitude among messages that have one: the attitude before them was kept */
  readonly attitudesMissing: number;
  /** setpoints of exactly 0 0 0 among others: a field that was never filled, not a command */
  readonly zeroed: number;
  /** median interval of the messages, seconds */
  readonly interval: number;
  /** what the messages look as if it meant, whatever is declared */
  readonly looks: "hold" | "linear";
  /** whether it follows the declared shape between two messages (`shapedCommand`) */
  readonly shaped?: boolean;
  /** stretches between messages in which nothing was commanded */
  readonly breaks: readonly (readonly [number, number])[];
}

/** A step of a held command is drawn as a ramp this short, seconds. */
const stepWidth = 1e-6;

/** A command that comes seldom holds for this long after its last message, seconds. */
const forEver = 1e6;

/**
 * The messages of a command without the points that draw its steps: what repeats in it is seen from what was commanded, not from how
 * long it held. The NaN that end a stretch stay.
 */
export function messagesOf({ between, t, x, y, z }: CommandTrack): CommandSamples {
  if (between === "linear") return { t, x, y, z, held: false };
  const rows = new Uint32Array(t.length);
  let n = 0;
  for (let k = 0; k < t.length; k++) {
    const beforeStep = k + 1 < t.length && t[k + 1]! - t[k]! <= 2 * stepWidth && Number.isFinite(x[k + 1]!);
    const tail = k > 0 && k === t.length - 1 && t[k]! - t[k - 1]! >= 0.5 * forEver;
    if (!beforeStep && !tail) rows[n++] = k;
  }
  const kept = gatherBy(rows, n);
  return { t: kept(t), x: kept(x), y: kept(y), z: kept(z), held: true };
}

/** Whether a command asks for another place, by more than a millimetre, within a window. */
export function movesWithin({ t, x, y, z }: CommandTrack, window: Window | null): boolean {
  if (window === null) return false;
  const [from, to] = window.map((instant) => lowerBound(t, instant)) as [number, number];
  return [x, y, z].some((column) => {
    const { low, high } = extent(column.subarray(from, to));
    return high - low > 1e-3;
  });
}

/**
 * Builds the curve of a command from its messages.
 *
 * A masked or non-finite position is not a command: the command ends at the message before it. A silence of more than
 * 2.5 usual intervals (and 0.1 s) between two different commands is a gap, over which nothing is interpolated.
 *
 * @param signal    as logged; columns x y z, and qx qy qz qw or yaw where the type has them
 * @param t         instants, seconds, strictly increasing, one per entry of `order`
 * @param order     message index of each instant
 * @param declared  what the manifest says of the time between two messages; null: hold where the command steps, or comes less
 *                  often than every `command_interval` and does not move smoothly from message to message; else linear
 */
export function buildCommandTrack(
  signal: RecordedSignal,
  t: Float64Array,
  order: Uint32Array,
  declared: "hold" | "linear" | null,
  settings: Settings,
): CommandTrack {
  const n = t.length;
  const inOrder = gatherBy(order);
  const pick = (name: string): Float64Array | null => {
    const column = signal.columns[name];
    if (!column) return null;
    const mask = signal.given[name];
    const out = inOrder(column);
    return mask ? out.map((value, k) => (mask[order[k]!] === 0 ? Number.NaN : value)) : out;
  };
  // a copy in any case: setpoints that were never filled are blanked in it
  const position = (name: string): Float64Array => {
    return pick(name)?.slice() ?? new Float64Array(n).fill(Number.NaN);
  };
  const x = position("x");
  const y = position("y");
  const z = position("z");
  const { qx, qy, qz, qw, attitude, missing } = attitudeColumns(pick, n, settings);
  const zeroed = signal.signal === "vehicle_setpoint" ? blankZeros(x, y, z, settings) : 0;
  const commanded = new Uint8Array(n);
  for (let i = 0; i < n; i++) if (Number.isFinite(x[i]! + y[i]! + z[i]!)) commanded[i] = 1;
  const interval = medianInterval(t);
  const slow = !(interval <= settings.command_interval);
  const smooth = !slow || (interval <= settings.command_seldom && isSmooth(x, y, z, settings.command_smooth));
  const looks = smooth && !steps(x, y, z) ? "linear" : "hold";
  const between = declared ?? looks;
  const afterSame = Math.max(settings.command_gap_intervals * interval, 1);
  const afterChange = Math.max(settings.gap_intervals * interval, 0.1);
  const least = Math.min(afterSame, afterChange);
  // whether the time before message i is too long for the command to be known in between
  const silent = (i: number): boolean => {
    const silence = t[i]! - t[i - 1]!;
    if (!(silence > least)) return false;
    const same = x[i] === x[i - 1] && y[i] === y[i - 1] && z[i] === z[i - 1];
    return silence > (same || between === "hold" ? afterSame : afterChange);
  };
  const found = { between, attitude, attitudesMissing: missing, zeroed, interval, looks } as const;
  if (between === "linear" && isWhole(commanded, silent)) return { t, x, y, z, qx, qy, qz, qw, ...found, breaks: [] };
  const stream = { t, sources: [x, y, z, qx, qy, qz, qw], commanded, silent };
  const { columns, breaks } = drawnCurve(stream, { between, slow, interval });
  const named = Object.fromEntries(columnNames.map((name, k) => [name, columns[k]!]));
  return { ...(named as Record<(typeof columnNames)[number], Float64Array>), ...found, breaks };
}

const columnNames = ["t", "x", "y", "z", "qx", "qy", "qz", "qw"] as const;

/** Messages of a command: their instants, their columns (x y z first), whether each commands, and whether silence precedes it. */
interface CommandStream {
  readonly t: Float64Array;
  readonly sources: readonly Float64Array[];
  readonly commanded: Uint8Array;
  readonly silent: (i: number) => boolean;
}

/** The curve through the messages, its instants first, and the stretches in which nothing is commanded. */
function drawnCurve(
  { t, sources, commanded, silent }: CommandStream,
  { between, slow, interval }: { between: CommandTrack["between"]; slow: boolean; interval: number },
): { columns: Float64Array[]; breaks: [number, number][] } {
  const n = t.length;
  const [x, y, z] = sources as [Float64Array, Float64Array, Float64Array];
  // a message is at most three points: the end of the step before it, itself, and the NaN that ends a stretch
  const out = Array.from({ length: 1 + sources.length }, () => new Float64Array(3 * n + 1));
  let size = 0;
  const breaks: [number, number][] = [];
  const put = (time: number, i: number): void => {
    out[0]![size] = time;
    for (let c = 0; c < sources.length; c++) out[c + 1]![size] = i < 0 ? Number.NaN : sources[c]![i]!;
    size++;
  };
  const endAt = (last: number, i: number): void => {
    put(t[last]! + stepWidth, -1);
    breaks.push([t[last]!, t[i]!]);
  };
  const isSame = (i: number, last: number): boolean => x[i] === x[last] && y[i] === y[last] && z[i] === z[last];
  // what lies between a message and the one right before it
  const join = (i: number): void => {
    if (silent(i) && !(between === "hold" && slow)) endAt(i - 1, i);
    else if (between === "hold" && !isSame(i, i - 1)) put(t[i]! - stepWidth, i - 1);
  };
  for (let i = 0; i < n; i++) {
    const follows = i > 0 && commanded[i - 1] === 1;
    if (commanded[i] === 1) {
      if (follows) join(i);
      put(t[i]!, i);
    } else if (follows) endAt(i - 1, i);
    else if (breaks.length > 0) breaks[breaks.length - 1]![1] = t[i]!;
  }
  // a command that comes seldom holds until it is replaced; a stream that stops commands nothing more
  if (n > 0 && commanded[n - 1] === 1 && between === "hold") put(t[n - 1]! + (slow ? forEver : interval), n - 1);
  return { columns: out.map((values) => values.slice(0, size)), breaks };
}

/**
 * Marks setpoints of exactly 0 0 0 as not commanded where nearly all others are elsewhere, by more than a vehicle could
 * follow in between. Returns how many.
 */
function blankZeros(x: Float64Array, y: Float64Array, z: Float64Array, settings: Settings): number {
  const n = x.length;
  const isZero = (i: number): boolean => x[i] === 0 && y[i] === 0 && z[i] === 0;
  // before the first and after the last real setpoint the origin may well be where the vehicle stands
  let from = 0;
  while (from < n && isZero(from)) from++;
  let to = n - 1;
  while (to > from && isZero(to)) to--;
  const isNear = (i: number): boolean => x[i]! ** 2 + y[i]! ** 2 + z[i]! ** 2 < leastJump ** 2;
  const zeros: number[] = [];
  for (let i = from; i <= to; i++) {
    if (!isZero(i)) continue;
    const first = i;
    while (isZero(i + 1)) i++;
    // a take-off may begin there and a landing end there; no command goes there and back by steps
    if (isNear(first - 1) || isNear(i + 1)) return 0;
    for (let k = first; k <= i; k++) zeros.push(k);
  }
  if (zeros.length > settings.attitude_missing * n) return 0;
  for (const i of zeros) x[i] = Number.NaN;
  return zeros.length;
}

/** A setpoint that steps to the origin and back by this much was never filled, metres. */
const leastJump = 0.5;

/** Whether a command is known from its first message to its last. */
function isWhole(commanded: Uint8Array, silent: (i: number) => boolean): boolean {
  if (commanded.includes(0)) return false;
  for (let i = 1; i < commanded.length; i++) if (silent(i)) return false;
  return true;
}

/** Whether a moving command goes through its messages as a curve does: each lies near the middle of its neighbours. */
function isSmooth(x: Float64Array, y: Float64Array, z: Float64Array, limit: number): boolean {
  let [first, second] = [0, 0];
  for (const column of [x, y, z]) {
    for (let i = 1; i + 1 < column.length; i++) {
      const [a, b, c] = [column[i - 1]!, column[i]!, column[i + 1]!];
      if (Number.isNaN(a + b + c)) continue;
      first += (c - a) ** 2;
      second += (a - 2 * b + c) ** 2;
    }
  }
  return second < limit * limit * first;
}

/** Whether a command moves in steps: most of its changes stand alone between unchanged messages. */
function steps(x: Float64Array, y: Float64Array, z: Float64Array): boolean {
  const n = x.length;
  // one longer than the messages: the last has no change after it
  const moved = new Uint8Array(n + 1);
  for (let i = 1; i < n; i++) {
    const dx = x[i]! - x[i - 1]!;
    const dy = y[i]! - y[i - 1]!;
    const dz = z[i]! - z[i - 1]!;
    if (Math.sqrt(dx * dx + dy * dy + dz * dz) > 1e-3) moved[i] = 1;
  }
  let alone = 0;
  let changes = 0;
  for (let i = 1; i < n; i++) {
    changes += moved[i]!;
    if (moved[i] === 1 && moved[i - 1] === 0 && moved[i + 1] === 0) alone++;
  }
  return changes > 0 && alone > 0.5 * changes && changes < 0.2 * n;
}
