import type { FoundLog } from "./foundLog.ts";

/** Logs of one flight by two recorders, and what shows that they go together. */
export interface LogPairs {
  readonly pairs: readonly (readonly [FoundLog, FoundLog])[];
  /** in words, as it stands behind "logs paired" */
  readonly by: string;
}

/**
 * Which captures and which onboard logs are of one flight: those that were recorded at one time; else the only two of a folder;
 * else those with the same numbers in their names. The order of their names tells nothing: of ten flights that of one may be
 * missing on either side. A log may stay alone, and two that were recorded at different times are never a pair.
 *
 * @returns no pairs where nothing tells
 */
export function pairLogs(captures: readonly FoundLog[], onboard: readonly FoundLog[]): LogPairs {
  const byTime = pairsByTime(captures, onboard);
  if (byTime.length > 0) return { pairs: byTime, by: "by the time at which they were recorded" };
  for (const { by, keyOf } of likenesses) {
    const pairs = pairsByKey(captures, onboard, keyOf);
    if (2 * pairs.length > Math.min(captures.length, onboard.length)) return { pairs: pairs.filter(notApart), by };
  }
  const [one, other] = [captures[0], onboard[0]];
  const isOnly = captures.length === 1 && onboard.length === 1;
  return { pairs: isOnly && notApart([one!, other!]) ? [[one!, other!]] : [], by: "as the only two" };
}

/** Whether two logs can be of one flight: both say when they were recorded, and it was not at the same time. */
function notApart([one, other]: readonly [FoundLog, FoundLog]): boolean {
  const [a, b] = [timeOf(one), timeOf(other)];
  return a === null || b === null || Math.min(a.to, b.to) > Math.max(a.from, b.from);
}

/** What two logs of one flight share, from the surest. */
const likenesses: readonly { readonly by: string; readonly keyOf: (path: string) => string | null }[] = [
  { by: "by their folders", keyOf: (path) => path.replace(/[^/\\]*$/, "") || null },
  { by: "by the numbers in their names", keyOf: (path) => numbersIn(path).join(" ") || null },
  { by: "by the last number in their names", keyOf: (path) => numbersIn(path).at(-1) ?? null },
];

/** Without leading zeros, and without those of the ending (c3d, db3). */
function numbersIn(path: string): string[] {
  const stem = path.replace(/\.[^./\\]*$/, "");
  return (stem.match(/\d+/g) ?? []).map((digits) => digits.replace(/^0+(?=\d)/, ""));
}

function pairsByKey(
  captures: readonly FoundLog[],
  onboard: readonly FoundLog[],
  keyOf: (path: string) => string | null,
): (readonly [FoundLog, FoundLog])[] {
  const [first, second] = [captures, onboard].map((logs) => onlyOnes(logs, keyOf));
  return [...first!].flatMap(([key, one]) => {
    const other = second!.get(key);
    return other === undefined ? [] : [[one, other] as const];
  });
}

/** Logs by key, those left out that share it with another. */
function onlyOnes(logs: readonly FoundLog[], keyOf: (path: string) => string | null): ReadonlyMap<string, FoundLog> {
  const groups = new Map<string, FoundLog[]>();
  for (const one of logs) {
    const key = keyOf(one.log.path);
    if (key !== null) groups.set(key, [...(groups.get(key) ?? []), one]);
  }
  return new Map([...groups].flatMap(([key, members]) => (members.length === 1 ? [[key, members[0]!] as const] : [])));
}

/** Pairs that overlap by more than half of the shorter, neither with a third. */
function pairsByTime(captures: readonly FoundLog[], onboard: readonly FoundLog[]): (readonly [FoundLog, FoundLog])[] {
  return captures.flatMap((one) => {
    const partners = onboard.filter((other) => overlap(one, other));
    const rivals = partners.length === 1 ? captures.filter((rival) => overlap(rival, partners[0]!)) : [];
    return rivals.length === 1 ? [[one, partners[0]!] as const] : [];
  });
}

/** Whether both say when they were recorded, and it was at the same time for more than half of the shorter. */
export function overlap(a: FoundLog, b: FoundLog): boolean {
  const [one, other] = [timeOf(a), timeOf(b)];
  if (one === null || other === null) return false;
  const common = Math.min(one.to, other.to) - Math.max(one.from, other.from);
  return common > 0.5 * Math.min(one.to - one.from, other.to - other.from);
}

/** When a log was recorded, Unix seconds; null where it does not say. */
function timeOf({ log: { start, duration } }: FoundLog): { readonly from: number; readonly to: number } | null {
  const from = start === null ? 0 : Number(BigInt(start) / 1_000_000n) / 1000;
  return from > 1e9 && duration !== null ? { from, to: from + duration } : null;
}
