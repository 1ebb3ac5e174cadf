import type { Settings } from "../contract/settings.ts";
import type { RecordedSignal } from "../foundation/recording.ts";
import type { PoseTrack } from "../foundation/tracks.ts";
import { gather } from "../numeric/gather.ts";
import { medianInterval } from "./poseFaults.ts";

/**
 * What was commanded, as a curve that is linear between its points: a command that holds is drawn as steps, and NaN
 * points part stretches in which nothing was commanded. Times strictly increase.
 */
export interface CommandTrack extends PoseTrack {
  /** what the command means between two messages */
  readonly between: "hold" | "linear";
  /** where the attitude comes from: the message, its yaw alone, or nowhere (level, yaw 0) */
  readonly attitude: "given" | "yaw" | "level";
  /** median interval of the messages, seconds */
  readonly interval: number;
  /** stretches between messages in which nothing was commanded */
  readonly breaks: readonly (readonly [number, number])[];
}

/** A step of a held command is drawn as a ramp this short, seconds. */
const stepWidth = 1e-6;

/**
 * Builds the curve of a command from its messages.
 *
 * A masked or non-finite position is not a command: the command ends at the message before it. A silence of more than
 * 2.5 usual intervals (and 0.1 s) between two different commands is a gap, over which nothing is interpolated.
 *
 * @param signal    as logged; columns x y z, and qx qy qz qw or yaw where the type has them
 * @param t         instants, seconds, strictly increasing, one per entry of `order`
 * @param order     message index of each instant
 * @param declared  what the manifest says of the time between two messages; null: hold where the command steps or comes
 *                  less often than every `command_interval`, else linear
 * @param scale     metres per unit of the position columns
 */
export function buildCommandTrack(
  signal: RecordedSignal,
  t: Float64Array,
  order: Uint32Array,
  declared: "hold" | "linear" | null,
  scale: number,
  settings: Settings,
): CommandTrack {
  const n = t.length;
  const pick = (name: string): Float64Array | null => {
    const column = signal.columns[name];
    if (!column) return null;
    const mask = signal.given[name];
    const out = gather(column, order);
    if (mask) for (let k = 0; k < out.length; k++) if (mask[order[k]!] === 0) out[k] = Number.NaN;
    return out;
  };
  const nowhere = new Float64Array(n).fill(Number.NaN);
  const x = (pick("x") ?? nowhere).map((value) => value * scale);
  const y = (pick("y") ?? nowhere).map((value) => value * scale);
  const z = (pick("z") ?? nowhere).map((value) => value * scale);
  const { qx, qy, qz, qw, attitude } = attitudeColumns(pick, n);
  const commanded = x.map((_, i) => (Number.isFinite(x[i]! + y[i]! + z[i]!) ? 1 : 0));
  const interval = medianInterval(t);
  const slow = !(interval <= settings.command_interval);
  const between = declared ?? (slow || steps(x, y, z) ? "hold" : "linear");
  // a message is at most three points: the end of the step before it, itself, and the NaN that ends a stretch
  const out = Array.from({ length: 8 }, () => new Float64Array(3 * n + 1));
  const sources = [x, y, z, qx, qy, qz, qw];
  let size = 0;
  const breaks: [number, number][] = [];
  const put = (time: number, i: number): void => {
    out[0]![size] = time;
    for (let c = 0; c < 7; c++) out[c + 1]![size] = i < 0 ? Number.NaN : sources[c]![i]!;
    size++;
  };
  let last = -1;
  for (let i = 0; i < n; i++) {
    if (commanded[i] === 0) {
      if (last === i - 1 && last >= 0) put(t[last]! + stepWidth, -1);
      continue;
    }
    if (last >= 0 && last === i - 1) {
      const same = x[i] === x[last] && y[i] === y[last] && z[i] === z[last];
      const silence = t[i]! - t[last]!;
      const limit =
        same || between === "hold"
          ? Math.max(settings.command_gap_intervals * interval, 1)
          : Math.max(settings.gap_intervals * interval, 0.1);
      if (silence > limit && !(between === "hold" && slow)) {
        put(t[last]! + stepWidth, -1);
        breaks.push([t[last]!, t[i]!]);
      } else if (between === "hold" && !same) put(t[i]! - stepWidth, last);
    }
    put(t[i]!, i);
    last = i;
  }
  // a command that comes seldom holds until it is replaced; a stream that stops commands nothing more
  if (last >= 0 && last === n - 1 && between === "hold") put(slow ? t[last]! + 1e6 : t[last]! + interval, last);
  const columns = out.map((values) => values.slice(0, size));
  return {
    t: columns[0]!,
    x: columns[1]!,
    y: columns[2]!,
    z: columns[3]!,
    qx: columns[4]!,
    qy: columns[5]!,
    qz: columns[6]!,
    qw: columns[7]!,
    between,
    attitude,
    interval,
    breaks,
  };
}

function attitudeColumns(
  pick: (name: string) => Float64Array | null,
  n: number,
): { qx: Float64Array; qy: Float64Array; qz: Float64Array; qw: Float64Array; attitude: CommandTrack["attitude"] } {
  const given = ["qx", "qy", "qz", "qw"].map(pick);
  const yaw = pick("yaw");
  const level = (): { qx: Float64Array; qy: Float64Array; qz: Float64Array; qw: Float64Array } => ({
    qx: new Float64Array(n),
    qy: new Float64Array(n),
    qz: new Float64Array(n),
    qw: new Float64Array(n).fill(1),
  });
  if (given.every((column) => column !== null)) {
    const out = level();
    const columns = given as Float64Array[];
    let valid = 0;
    for (let i = 0; i < n; i++) {
      const norm = Math.hypot(columns[0]![i]!, columns[1]![i]!, columns[2]![i]!, columns[3]![i]!);
      if (!(Math.abs(norm - 1) < 0.01)) continue;
      valid++;
      const previous =
        i === 0
          ? 1
          : out.qx[i - 1]! * columns[0]![i]! +
            out.qy[i - 1]! * columns[1]![i]! +
            out.qz[i - 1]! * columns[2]![i]! +
            out.qw[i - 1]! * columns[3]![i]!;
      const sign = previous < 0 ? -1 / norm : 1 / norm;
      out.qx[i] = columns[0]![i]! * sign;
      out.qy[i] = columns[1]![i]! * sign;
      out.qz[i] = columns[2]![i]! * sign;
      out.qw[i] = columns[3]![i]! * sign;
    }
    return valid === n ? { ...out, attitude: "given" } : { ...level(), attitude: "level" };
  }
  if (yaw?.every((value) => Number.isFinite(value))) {
    const out = level();
    for (let i = 0; i < n; i++) {
      out.qz[i] = Math.sin(yaw[i]! / 2);
      out.qw[i] = Math.cos(yaw[i]! / 2);
    }
    return { ...out, attitude: "yaw" };
  }
  return { ...level(), attitude: "level" };
}

/** Whether a command moves in steps: most of its changes stand alone between unchanged messages. */
function steps(x: Float64Array, y: Float64Array, z: Float64Array): boolean {
  const n = x.length;
  let alone = 0;
  let changes = 0;
  const moved = (i: number): boolean =>
    i > 0 && i < n && Math.hypot(x[i]! - x[i - 1]!, y[i]! - y[i - 1]!, z[i]! - z[i - 1]!) > 1e-3;
  for (let i = 1; i < n; i++) {
    if (!moved(i)) continue;
    changes++;
    if (!moved(i - 1) && !moved(i + 1)) alone++;
  }
  return changes > 0 && alone > 0.5 * changes && changes < 0.2 * n;
}
