import type { LogInspection } from "../../contract/inspection.ts";
import type { ColumnProposal } from "../../foundation/recording.ts";

/** Beyond this in metres no capture sees; below it in millimetres no vehicle flies. Between them the numbers do not tell. */
export const largestArena = 50;
export const leastHeight = 400;
/** No multirotor with an arm at work rolls or pitches further, radians. */
const largestTilt = 1.6;
/** Beside a unit that is asked for. */
export const unitWords = "units such as s, ms, m, mm, deg, deg/s; of numbers of frames their rate, such as 100 Hz";
/** Usual intervals of a log of a flight, seconds: 2 kHz to 2 Hz. */
const [shortest, longestInterval] = [5e-4, 0.5];

/**
 * Units of the columns a signal is drafted from: as the heading writes them, else what the numbers alone can be, which is said,
 * else `<UNIT>`. A time that is a date needs none.
 */
export function guessUnits(
  { columns, units }: ColumnProposal,
  { table, topics, start }: Pick<LogInspection, "table" | "topics"> & { readonly start?: string | null },
): { units: Readonly<Record<string, string>>; remarks: readonly string[] } {
  const largest = (...roles: readonly string[]): number => {
    const found = roles.flatMap((role) => table?.columns.filter(({ name }) => name === columns[role]) ?? []);
    return Math.max(0, ...found.flatMap(({ lowest, highest }) => [Math.abs(lowest ?? 0), Math.abs(highest ?? 0)]));
  };
  const guessed: string[] = [];
  const wanted: Record<string, string> = {};
  const add = (key: string, guess: () => string | null): void => {
    const guessedUnit = units[key] === undefined ? guess() : null;
    wanted[key] = units[key] ?? guessedUnit ?? "<UNIT>";
    if (guessedUnit !== null) guessed.push(guessedUnit);
  };
  const isDate = start !== null && start !== undefined && BigInt(start) > 1_000_000_000_000_000_000n;
  if (units.t !== undefined || !isDate) {
    const interval = topics.find(({ topic }) => topic === columns.t)?.timing?.median_interval ?? Number.NaN;
    add("t", () => timeUnit(interval));
  }
  if (columns.x !== undefined) {
    const size = largest("x", "y", "z");
    add("position", () => (size > leastHeight ? "mm" : size > 0 && size <= largestArena ? "m" : null));
  }
  if (columns.yaw !== undefined) {
    const [size, tilt] = [largest("roll", "pitch", "yaw"), largest("roll", "pitch")];
    // at rest at zero either does
    add("angle", () => (size > 2 * Math.PI + 0.1 || tilt > largestTilt ? "deg" : size === 0 ? "rad" : null));
  }
  if (columns.wx !== undefined) {
    const size = largest("wx", "wy", "wz");
    // no gyro of a vehicle measures beyond 2000 deg/s, 35 rad/s
    add("rate", () => (size > 35 ? "deg/s" : null));
  }
  if (columns.voltage !== undefined) wanted.voltage = units.voltage ?? "V";
  const asked = Object.values(wanted).includes("<UNIT>");
  return {
    units: wanted,
    remarks: [
      ...(guessed.length > 0 ? [`${guessed.join(", ")} by the size of the numbers`] : []),
      ...(asked ? [unitWords] : []),
    ],
  };
}

/** @param interval  between rows, in the unit in question */
function timeUnit(interval: number): string | null {
  // rows counted one by one: frames, of a rate that only a person knows
  if (!(interval > 0) || interval === 1) return null;
  const fitting = [
    ["s", 1],
    ["ms", 1e3],
    ["us", 1e6],
    ["ns", 1e9],
  ] as const;
  const found = fitting.filter(([, per]) => interval / per >= shortest && interval / per <= longestInterval);
  return found.length === 1 ? found[0]![0] : null;
}
