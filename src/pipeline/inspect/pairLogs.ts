import { join } from "node:path";
import { searchOverlaps } from "../../alignment/clock/offsetAnywhere.ts";
import type { RateGrid } from "../../alignment/clock/rateGrid.ts";
import type { FolderLog } from "../../contract/inspection.ts";
import { defaultSettings } from "../../contract/settings.ts";
import type { FoundLog } from "./foundLog.ts";
import { turnsIn } from "./gyroAgreement.ts";

/** Logs of one flight by two recorders, and what shows that they go together. */
export interface LogPairs {
  readonly pairs: readonly (readonly [FoundLog, FoundLog])[];
  /** in words, as it stands behind "logs paired" */
  readonly by: string;
}

/**
 * Which captures and which onboard logs are of one flight: those that were recorded at one time; else those of which the vehicle
 * turns alike; else the only two of a folder; else those with the same numbers in their names. The order of their names tells nothing: of ten flights that of one may be
 * missing on either side. A log may stay alone, and two that were recorded at different times are never a pair.
 *
 * @returns no pairs where nothing tells
 */
export function pairLogs(captures: readonly FoundLog[], onboard: readonly FoundLog[]): LogPairs {
  const byTime = pairsByTime(captures, onboard);
  if (byTime.length > 0) return { pairs: byTime, by: "by the time at which they were recorded" };
  const moved = pairsByMotion(captures, onboard);
  const isLeft = (log: FoundLog): boolean => !moved.some((pair) => pair.includes(log));
  const named = pairsByName(captures.filter(isLeft), onboard.filter(isLeft));
  if (moved.length === 0) return named;
  const by = named.pairs.length === 0 ? "by their motion" : `by their motion, ${named.pairs.length} ${named.by}`;
  return { pairs: captures.flatMap((log) => [...moved, ...named.pairs].filter(([one]) => one === log)), by };
}

function pairsByName(captures: readonly FoundLog[], onboard: readonly FoundLog[]): LogPairs {
  for (const { by, keyOf } of likenesses) {
    const pairs = pairsByKey(captures, onboard, keyOf);
    if (2 * pairs.length > Math.min(captures.length, onboard.length)) return { pairs: pairs.filter(notApart), by };
  }
  const [one, other] = [captures[0], onboard[0]];
  const isOnly = captures.length === 1 && onboard.length === 1;
  return { pairs: isOnly && notApart([one!, other!]) ? [[one!, other!]] : [], by: "as the only two" };
}

/** Of more pairs than these the motions are not compared: one takes some hundredths of a second. */
const mostCompared = 400;
/** One motion seen twice is likelier than another one's by this factor, beside being ahead as clocks have to be: flights of one trajectory turn alike. */
const clearly = 1.5;

/** Pairs in which the vehicle turns in one log as it does in the other, clearly more than either does in any third. */
function pairsByMotion(captures: readonly FoundLog[], onboard: readonly FoundLog[]): (readonly [FoundLog, FoundLog])[] {
  const seen = captures.filter(({ turning }) => turning?.by === "pose");
  const felt = onboard.filter(({ turning }) => turning?.by === "gyro");
  if (seen.length === 0 || felt.length === 0 || seen.length * felt.length > mostCompared) return [];
  const evidence = seen.map((one) => felt.map((other) => evidenceOf(one.turning!.rates, other.turning!.rates)));
  const isClear = (value: number, rivals: readonly number[]): boolean => {
    const second = Math.max(0, ...rivals);
    return value - second >= defaultSettings.clock_log_likelihood && value >= clearly * second;
  };
  return seen.flatMap((one, i) =>
    felt.flatMap((other, k) => {
      const value = evidence[i]![k]!;
      const rivals = [
        ...evidence[i]!.filter((_, at) => at !== k),
        ...evidence.filter((_, at) => at !== i).map((row) => row[k]!),
      ];
      return isClear(value, rivals) ? [[one, other] as const] : [];
    }),
  );
}

/** Log-likelihood that both are of one motion, wherever they overlap, in either of the axes that gyros count in. */
function evidenceOf(pose: RateGrid, gyro: RateGrid): number {
  const { clock_overlap: overlap, clock_smoothing: smoothing } = defaultSettings;
  const found = [false, true].map(
    (frd) => searchOverlaps(turnsIn(gyro, "rad/s", frd), pose, { overlap, smoothing })?.evidence ?? 0,
  );
  return Math.max(...found);
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

/**
 * Logs with what they are copies of, for a flight that lies in a folder twice is no second flight: of the same bytes; of the same
 * messages in another compression or container; or the unfinished recording of a log that was finished since.
 *
 * The original is of the format that most logs of the folder have, and has the shorter name: a copy has something added.
 *
 * @param sha256  of a log's bytes, whatever it is called
 */
export async function withCopies(
  folder: string,
  found: readonly FoundLog[],
  sha256: (path: string) => Promise<string>,
): Promise<FoundLog[]> {
  const formats = new Map<string | null, number>();
  for (const { log } of found) formats.set(log.format, (formats.get(log.format) ?? 0) + 1);
  const ordered = found
    .filter(({ log }) => log.error === null)
    .sort(({ log: a }, { log: b }) => formats.get(b.format)! - formats.get(a.format)! || a.path.length - b.path.length);
  const copies = new Map<string, Pick<FolderLog, "same_as" | "same_by">>();
  const note = (by: "bytes" | "messages", groups: Iterable<readonly FoundLog[]>): void => {
    for (const [first, ...rest] of groups)
      for (const { log } of rest)
        if (!copies.has(log.path)) copies.set(log.path, { same_as: first!.log.path, same_by: by });
  };
  note("bytes", await ofEqualBytes(folder, ordered, sha256));
  note("messages", groupsBy(ordered, ({ content }) => content).values());
  for (const { log } of ordered) {
    const finished = finishedName(log.path);
    if (finished !== null && !copies.has(log.path) && found.some((one) => one.log.path === finished))
      copies.set(log.path, { same_as: finished, same_by: "unfinished" });
  }
  return found.map((one) => ({ ...one, log: { ...one.log, ...(copies.get(one.log.path) ?? { same_as: null }) } }));
}

/** Only logs of equal length and count are summed; what cannot be read counts as its own. */
async function ofEqualBytes(
  folder: string,
  logs: readonly FoundLog[],
  sha256: (path: string) => Promise<string>,
): Promise<FoundLog[][]> {
  const alike = groupsBy(logs, ({ log }) => `${log.format} ${log.bytes} ${log.messages}`);
  const groups: FoundLog[][] = [];
  for (const same of [...alike.values()].filter(({ length }) => length > 1)) {
    const sums = new Map<FoundLog, string>();
    for (const one of same) sums.set(one, await sha256(join(folder, one.log.path)).catch(() => one.log.path));
    groups.push(...groupsBy(same, (one) => sums.get(one)!).values());
  }
  return groups;
}

function groupsBy(logs: readonly FoundLog[], keyOf: (one: FoundLog) => string | null): Map<string, FoundLog[]> {
  const groups = new Map<string, FoundLog[]>();
  for (const one of logs) {
    const key = keyOf(one);
    if (key !== null) groups.set(key, [...(groups.get(key) ?? []), one]);
  }
  return groups;
}

/**
 * What a recording is called once it is finished: rosbag writes `x.bag.active` until it is closed, and its repair leaves the damaged
 * one as `x.orig.bag`. Null for a log that is called like a finished one.
 */
function finishedName(path: string): string | null {
  const found = /^(.*)(?:\.bag\.active|\.orig\.bag|\.bag\.orig\.active)$/.exec(path);
  return found === null ? null : `${found[1]}.bag`;
}
