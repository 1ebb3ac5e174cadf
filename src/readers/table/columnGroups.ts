import { withoutUnit } from "./columnNames.ts";
import type { ColumnStats } from "./Tabular.ts";

type Kind = "position" | "quaternion" | "rate";

/** Columns that belong together: x, y, z (and w) of one thing. */
export interface ColumnGroup {
  readonly kind: Kind;
  /** words that say whose they are */
  readonly words: readonly string[];
  /** axis -> number of the column */
  readonly axes: Readonly<Record<string, number>>;
  /** a quaternion of numbered columns whose values fit either order */
  readonly ambiguous?: true;
}

const positionWords = /^(p|pos|position|translation|location|coordinate|xyz)$/;
const quaternionWords = /^(q|quat|quaternion|rotation|rot|orientation|ori)$/;
const rateWords = /^(w|gyro|gyr|omega|rate|rates)$/;
const otherWords =
  /^(v|vel|velocity|speed|a|acc|accel|acceleration|force|thrust|mag|magnetic|error|err|integral|proportional|derivative|term|torque|moment|mu|jerk|std|cov|covariance|variance|u|input|dot|loop|inversion|adaptive|gain|residual)$/;
/** Words of a name in lower case: parted at blanks, marks, digits that follow letters, and capitals inside. */
export function wordsOf(name: string): string[] {
  return withoutUnit(name)
    .replace(/([a-z])([A-Z])/g, "$1 $2")
    .toLowerCase()
    .split(/[^a-z0-9]+/)
    .filter((word) => word !== "");
}

/** Words whose elements are numbered from 0; of others, a number says which of several it is. */
const countedPosition = /^(position|pos)$/;
const countedQuaternion = /^(q|quat|quaternion|orientation)$/;

/**
 * Axis of a column and what is left of its words: "px" -> p, x; "Mocap quaternion q0" -> mocap quaternion q, 0;
 * "position[2]" -> position, z.
 */
function axisOf(name: string): { axis: string; words: string[] } | null {
  const words = wordsOf(name);
  const last = words.pop();
  if (last === undefined) return null;
  const before = words.at(-1) ?? "";
  if (/^[0-2]$/.test(last) && countedPosition.test(before)) return { axis: "xyz"[Number(last)]!, words };
  if (/^[0-3]$/.test(last) && countedQuaternion.test(before)) return { axis: last, words };
  const match = /^(p|q|w|v|a|pos|rot|quat|)_?([xyzw0-3])$/.exec(last);
  if (match === null || (match[2]! <= "3" && match[1] !== "q" && match[1] !== "quat")) return null;
  return { axis: match[2]!, words: match[1] === "" ? words : [...words, match[1]!] };
}

export function columnGroups(names: readonly string[], stats: readonly ColumnStats[]): ColumnGroup[] {
  const byWords = new Map<string, Record<string, number>>();
  names.forEach((name, column) => {
    const found = axisOf(name);
    if (found === null || stats[column]!.numbers === 0) return;
    const key = found.words.join(" ");
    const axes = byWords.get(key) ?? {};
    byWords.set(key, axes);
    axes[found.axis] ??= column;
  });
  return [...byWords].flatMap(([key, axes]): ColumnGroup[] => {
    const words = key === "" ? [] : key.split(" ");
    const own = words.filter(
      (word) => !positionWords.test(word) && !quaternionWords.test(word) && !rateWords.test(word),
    );
    const turning = words.some((word) => rateWords.test(word) || word === "angular");
    if (words.some((word) => otherWords.test(word) && !(turning && /^(vel|velocity|speed)$/.test(word)))) return [];
    const has = (letters: string): boolean => [...letters].every((letter) => axes[letter] !== undefined);
    if (has("0123")) return [{ kind: "quaternion", words: own, ...numbered(axes, stats) }];
    if (has("xyzw") && !words.some((word) => positionWords.test(word)))
      return [{ kind: "quaternion", words: own, axes }];
    if (!has("xyz")) return [];
    if (turning) return [{ kind: "rate", words: [...own, ...words.filter((word) => /^gyro|gyr$/.test(word))], axes }];
    if (words.some((word) => quaternionWords.test(word))) return [];
    return [{ kind: "position", words: own, axes }];
  });
}

/**
 * q0 to q3. The parts for roll and pitch are small in a hover; the real part and the one for yaw share the rest: these are q0
 * and q3 where the real part is first, q2 and q3 where it is last. With q3 alone near 1 that does not tell: the vehicle may
 * look along x with the real part last, or back along it with the real part first.
 */
function numbered(
  axes: Readonly<Record<string, number>>,
  stats: readonly ColumnStats[],
): Pick<ColumnGroup, "axes" | "ambiguous"> {
  const size = (name: string): number => stats[axes[name]!]!.meanAbsolute ?? 0;
  const yawed = 0.26; // half of 30 degrees as a sine
  const isFirst = size("0") >= Math.max(yawed, size("2"));
  const order = isFirst ? ["w", "x", "y", "z"] : ["x", "y", "z", "w"];
  return {
    axes: Object.fromEntries(order.map((axis, k) => [axis, axes[String(k)]!])),
    ...(Math.max(size("0"), size("2")) < yawed ? { ambiguous: true } : {}),
  };
}
