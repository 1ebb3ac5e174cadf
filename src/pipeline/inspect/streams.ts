import { CounterpoiseError } from "../../foundation/errors.ts";
import type { RecordedSignal, SignalRequest } from "../../foundation/recording.ts";
import type { PointTrack, PoseTrack, SignalName } from "../../foundation/tracks.ts";
import { extent, median } from "../../numeric/descriptive.ts";
import { quaternionFromEuler } from "../../numeric/quaternion.ts";
import { gatherBy } from "../../numeric/sortedColumns.ts";
import type { readLog } from "../../readers/readLog.ts";
import type { Candidate } from "../../report/draft/candidates.ts";
import { largestArena, leastHeight } from "../../report/draft/guessUnits.ts";

/** The unit that a body's numbers are in, where they are no metres. */
export interface LengthShown {
  /** as a manifest writes it; null: none that the numbers tell apart, to be asked for */
  readonly unit: string | null;
  /** metres of one */
  readonly metres: number;
  /** what showed it */
  readonly words: string;
}

/** What a candidate showed in one log: seconds after the log's first receipt, SI. */
export interface Stream {
  readonly candidate: Candidate;
  /** strictly increasing */
  readonly t: Float64Array;
  /** of a body or a command */
  readonly point: PointTrack | null;
  /** where the log gives an attitude that is one */
  readonly pose: PoseTrack | null;
  /** of a command that tells its yaw; radians where the log says its unit */
  readonly yaw: Float64Array | null;
  /** of a gyro */
  readonly rates: readonly [Float64Array, Float64Array, Float64Array] | null;
  /** as `pose` where angles of which nothing says the unit are degrees */
  readonly poseInDegrees?: PoseTrack;
  /** its positions are logged in another unit than metres; those here are in metres all the same */
  readonly length?: LengthShown;
}

/** Signals that are read to find out what they are; the others are what their type says. */
const telling: readonly SignalName[] = [
  "vehicle_pose",
  "effector_pose",
  "vehicle_estimate",
  "vehicle_setpoint",
  "effector_command",
  "vehicle_rate",
];
/** Fewer messages than this show no motion. */
const fewest = 20;

/**
 * Reads whatever in a log could be a body, a command or a gyro. A reader gives one thing for each signal, so the log is read as
 * often as there are more candidates than signals.
 *
 * @returns without what cannot be read, which says nothing
 */
export async function readStreams(
  path: string,
  candidates: readonly Candidate[],
  read: typeof readLog,
): Promise<readonly Stream[]> {
  const found: Stream[] = [];
  let waiting = candidates.filter(
    ({ messages, couldBe }) => messages >= fewest && couldBe.some((signal) => telling.includes(signal)),
  );
  while (waiting.length > 0) {
    const slots = new Map<SignalName, Candidate>();
    for (const candidate of waiting) {
      const free = candidate.couldBe.find((signal) => telling.includes(signal) && !slots.has(signal));
      if (free !== undefined) slots.set(free, candidate);
    }
    const taken = new Set(slots.values());
    waiting = waiting.filter((candidate) => !taken.has(candidate));
    const requests = [...slots].map(([signal, { request }]): SignalRequest => ({ ...request, signal }));
    try {
      const { signals, start } = await read([path], requests);
      for (const [signal, recorded] of signals) {
        const stream = streamOf(slots.get(signal)!, recorded, start);
        if (stream !== null) found.push(stream);
      }
    } catch (error) {
      if (!(error instanceof CounterpoiseError)) throw error;
    }
  }
  return found;
}

function streamOf(candidate: Candidate, signal: RecordedSignal, start: bigint | null): Stream | null {
  const { columns, given } = signal;
  const times = timesOf(signal, start);
  const rows: number[] = [];
  const isKnown = (i: number): boolean =>
    ["x", "y", "z", "wx", "wy", "wz"].every(
      (name) => columns[name] === undefined || (Number.isFinite(columns[name]![i]!) && given[name]?.[i] !== 0),
    );
  let before = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < times.length; i++) {
    if (!(times[i]! > before) || !isKnown(i)) continue;
    rows.push(i);
    before = times[i]!;
  }
  if (rows.length < fewest) return null;
  const pick = gatherBy(Uint32Array.from(rows));
  const column = (name: string): Float64Array | null => (columns[name] === undefined ? null : pick(columns[name]!));
  const t = pick(times);
  const [x, y, z] = ["x", "y", "z"].map(column);
  const [wx, wy, wz] = ["wx", "wy", "wz"].map(column);
  const logged = x && y && z ? { t, x, y, z } : null;
  const length = logged === null ? null : lengthBySize(candidate, logged);
  const point = logged === null || length === null ? logged : inLength(logged, length);
  const rates = wx && wy && wz ? ([wx, wy, wz] as const) : null;
  if (point === null && rates === null) return null;
  const degrees = candidate.request.units?.angle === undefined ? poseInDegrees(point, column) : null;
  return {
    candidate,
    t,
    point,
    pose: poseOf(point, column),
    yaw: column("yaw"),
    rates,
    ...(degrees === null ? {} : { poseInDegrees: degrees }),
    ...(length === null ? {} : { length }),
  };
}

/** Units of lengths that captures count in, metres of one. */
export const metresOf: Readonly<Record<string, number>> = { mm: 1e-3, cm: 1e-2, in: 0.0254, ft: 0.3048 };
/** Between centimetres and inches: what hangs together in either does so in this. */
const between = Math.sqrt(metresOf.cm! * metresOf.in!);

/**
 * Too large for metres: millimetres, or what only a person knows. Messages say no unit; of a table's columns it is guessed before,
 * where their size tells (src/report/draft/guessUnits.ts).
 */
function lengthBySize({ request, type, down }: Candidate, { x, y, z }: PointTrack): LengthShown | null {
  if (request.units?.position !== undefined || type === "markers" || down) return null;
  const size = Math.max(...[x, y, z].map((column) => extent(column)).flatMap(({ low, high }) => [-low, high]));
  if (size <= largestArena) return null;
  if (size > leastHeight) return { unit: "mm", metres: metresOf.mm!, words: "mm by the size of the numbers" };
  return { unit: null, metres: between, words: "too large for metres: centimetres or inches" };
}

/** A track of another unit in metres. */
export function inLength({ t, x, y, z }: PointTrack, { metres }: LengthShown): PointTrack {
  const scaled = (column: Float64Array): Float64Array => column.map((value) => metres * value);
  return { t, x: scaled(x), y: scaled(y), z: scaled(z) };
}

/** Of a table's roll, pitch and yaw: its numbers taken for degrees, where the reader took them for radians. */
function poseInDegrees(point: PointTrack | null, column: (name: string) => Float64Array | null): PoseTrack | null {
  const [roll, pitch, yaw] = ["roll", "pitch", "yaw"].map(column);
  if (point === null || !roll || !pitch || !yaw) return null;
  const parts = Array.from(yaw, (_, i) =>
    quaternionFromEuler(
      ...([roll[i]!, pitch[i]!, yaw[i]!].map((angle) => (angle * Math.PI) / 180) as [number, number, number]),
    ),
  );
  const [qx, qy, qz, qw] = [0, 1, 2, 3].map((k) => Float64Array.from(parts, (part) => part[k]!));
  return { ...point, qx: qx!, qy: qy!, qz: qz!, qw: qw! };
}

/** The stamps, moved to where their messages were received on average: free of the jitter of the way; else the receipt. */
function timesOf({ received, stamped }: RecordedSignal, start: bigint | null): Float64Array {
  const since = Number(received.epoch - (start ?? received.epoch)) / 1e9;
  const isWhole =
    stamped?.seconds.every((second, i, all) => Number.isFinite(second) && !(second < all[i - 1]!)) === true;
  if (!isWhole) return received.seconds.map((second) => second + since);
  const delay = median(received.seconds.map((second, i) => second - stamped!.seconds[i]!));
  return stamped!.seconds.map((second) => second + delay + since);
}

/** null where most quaternions are not of unit length: then there is no attitude in them. */
function poseOf(point: PointTrack | null, column: (name: string) => Float64Array | null): PoseTrack | null {
  const [qx, qy, qz, qw] = ["qx", "qy", "qz", "qw"].map(column);
  if (point === null || !qx || !qy || !qz || !qw) return null;
  let units = 0;
  for (let i = 0; i < qx.length; i++)
    if (Math.abs(qx[i]! ** 2 + qy[i]! ** 2 + qz[i]! ** 2 + qw[i]! ** 2 - 1) < 0.02) units++;
  return units > 0.9 * qx.length ? { ...point, qx, qy, qz, qw } : null;
}
