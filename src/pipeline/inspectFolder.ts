import { readdir } from "node:fs/promises";
import { join } from "node:path";
import type { FolderInspection, FolderLog, LogInspection } from "../contract/inspection.ts";
import { CounterpoiseError, LogError } from "../foundation/errors.ts";
import { draftSignals } from "../report/draft/draftSignals.ts";
import { type LogDraft, manifestDraft, type RunDraft } from "../report/draft/manifestDraft.ts";
import type { SignalDraft } from "../report/draft/SignalDraft.ts";
import { inspectLog, unknownTopics } from "./inspectLog.ts";
import { sha256Of } from "./sha256Of.ts";

/** Folders within folders: a flight day is rarely deeper, and a home folder must not be searched. */
const deepest = 4;
const mostFiles = 2000;
/** Text files that are no tables are no logs; nor are what this program writes and what a lab keeps beside its logs. */
const notLogs = /\.(ya?ml|json|jsonl|md|html?|pdf|png|jpe?g|py|m|mat|sh|zip|gz|tgz|db3-wal|db3-shm|db3-journal)$/i;

/** What the journey needs from outside. Tests pass their own. */
export interface FolderEffects {
  readonly inspectLog: (path: string) => Promise<LogInspection>;
  readonly sha256: (path: string) => Promise<string>;
}

export interface FolderProgress {
  readonly done: number;
  readonly total: number;
  readonly path: string;
}

/**
 * What is in a folder of logs: each with duration, rates and what it could be; copies; and a manifest to start from.
 *
 * A log that cannot be read is listed with the reason and stops no other.
 *
 * @throws LogError  code `log-unreadable`: the folder cannot be read, or holds no log
 */
export async function inspectFolder(
  folder: string,
  options: { onProgress?: (progress: FolderProgress) => void; effects?: FolderEffects } = {},
): Promise<FolderInspection> {
  const effects = options.effects ?? {
    inspectLog: (path) => inspectLog(path),
    sha256: async (path: string) => sha256Of(path),
  };
  const { paths, others } = await logsIn(folder);
  const found: { log: FolderLog; signals: readonly SignalDraft[]; unknown: LogDraft["unknown"] }[] = [];
  let strangers = others;
  for (const [done, path] of paths.entries()) {
    options.onProgress?.({ done, total: paths.length, path });
    const one = await inspectOne(folder, path, effects);
    if (one === null) strangers++;
    else found.push(one);
  }
  if (found.length === 0)
    throw new LogError("log-unreadable", `found no log among ${strangers} file(s), expected some`, {
      place: folder,
      hint: "name the folder that holds the flight day's logs",
    });
  const logs = await withCopies(
    folder,
    found.map(({ log }) => log),
    effects,
  );
  return {
    schema: 1,
    folder,
    logs,
    others: strangers,
    manifest: draftOf(found.map((one, k) => ({ ...one, log: logs[k]! }))),
  };
}

/** Files of a folder and its folders, and folders that are one log (ROS 2 bags), in the order of their names. */
async function logsIn(folder: string): Promise<{ paths: string[]; others: number }> {
  const paths: string[] = [];
  let others = 0;
  const walk = async (within: string, depth: number): Promise<void> => {
    const entries = await entriesOf(join(folder, within));
    if (entries.some(({ name }) => name === "metadata.yaml") && within !== "") {
      paths.push(within);
      return;
    }
    for (const entry of entries.sort((a, b) => a.name.localeCompare(b.name, "en", { numeric: true }))) {
      if (entry.name.startsWith(".") || entry.name === "node_modules") continue;
      const path = join(within, entry.name);
      if (entry.isDirectory()) {
        if (depth < deepest) await walk(path, depth + 1);
      } else if (!entry.isFile() || notLogs.test(entry.name)) others++;
      else if (paths.length < mostFiles) paths.push(path);
      else others++;
    }
  };
  await walk("", 0);
  return { paths, others };
}

async function entriesOf(folder: string) {
  try {
    return await readdir(folder, { withFileTypes: true });
  } catch (cause) {
    throw new LogError(
      "log-unreadable",
      `found a folder that cannot be read (${(cause as NodeJS.ErrnoException).code})`,
      {
        place: folder,
        hint: "check the path and that you may read it",
        cause,
      },
    );
  }
}

/** null for a text that is no table: a note, a licence. */
async function inspectOne(folder: string, path: string, effects: FolderEffects) {
  try {
    const inspection = await effects.inspectLog(join(folder, path));
    const { format, bytes, start, duration, messages, recovered } = inspection;
    const signals = draftSignals(inspection);
    return {
      log: {
        path,
        bytes,
        format,
        error: null,
        start,
        duration,
        messages,
        recovered,
        signals: signals.map((draft) => ({
          signal: draft.signal,
          origin: originOfDraft(draft),
          rate: rateOf(draft, inspection),
        })),
        same_as: null,
      },
      signals,
      unknown: unknownTopics(inspection.topics),
    };
  } catch (error) {
    if (!(error instanceof CounterpoiseError)) throw error;
    if (/^found (text|a file) that starts with/.test(error.message)) return null;
    const log: FolderLog = {
      path,
      bytes: 0,
      format: null,
      error: error.message,
      start: null,
      duration: null,
      messages: 0,
      recovered: null,
      signals: [],
      same_as: null,
    };
    return { log, signals: [], unknown: [] };
  }
}

function originOfDraft({ parts }: SignalDraft): string {
  return parts[0] ?? "";
}

/** Messages a second: of its topic, of its table's time, of the frames. */
function rateOf({ parts, clock }: SignalDraft, { topics, points }: LogInspection): number | null {
  if (points !== null) return points.rate;
  const own = topics.find(
    ({ topic }) => parts[0] === `topic: ${topic}` || parts[0] === `topic: "${topic}"` || topic === clock,
  );
  const interval = own?.timing?.median_interval ?? null;
  return interval === null ? null : 1 / interval;
}

/** Logs of equal length are compared by their sums: a file copied under another name is no second flight. */
async function withCopies(folder: string, logs: readonly FolderLog[], effects: FolderEffects): Promise<FolderLog[]> {
  const bySize = new Map<string, FolderLog[]>();
  for (const log of logs) {
    const key = `${log.format} ${log.bytes} ${log.messages}`;
    const same = bySize.get(key);
    if (same === undefined) bySize.set(key, [log]);
    else same.push(log);
  }
  const first = new Map<string, string>();
  const copies = new Map<string, string>();
  for (const same of bySize.values()) {
    if (same.length < 2) continue;
    for (const { path, error } of same) {
      if (error !== null) continue;
      // of a folder the sum cannot be had: it counts as its own
      const sum = await effects.sha256(join(folder, path)).catch(() => path);
      const earlier = first.get(sum);
      if (earlier === undefined) first.set(sum, path);
      else copies.set(path, earlier);
    }
  }
  return logs.map((log) => ({ ...log, same_as: copies.get(log.path) ?? null }));
}

/**
 * Logs that hold the same kinds of signals are of one kind. Where there is one kind, each log is a run; where there are two of
 * equal number, they are paired in order (capture and onboard log of each flight); else the commonest kind makes the runs.
 */
function draftOf(
  found: readonly { log: FolderLog; signals: readonly SignalDraft[]; unknown: LogDraft["unknown"] }[],
): string {
  const sound = found.filter(({ log }) => log.error === null && log.same_as === null);
  const kinds = new Map<string, (typeof sound)[number][]>();
  for (const one of sound) {
    const key = `${one.log.format} ${one.signals
      .map(({ signal }) => signal)
      .sort()
      .join(" ")}`;
    kinds.set(key, [...(kinds.get(key) ?? []), one]);
  }
  const ordered = [...kinds.values()].filter(([one]) => one!.signals.length > 0).sort((a, b) => b.length - a.length);
  const [first = sound, second] = ordered;
  const pair = second !== undefined && second.length === first.length ? asPair(first, second) : null;
  const kindsUsed = pair ?? [first];
  const names = pair === null ? [null] : ["mocap", "onboard"];
  const main = kindsUsed[0]!;
  const runs: RunDraft[] = main.map(({ log }, k) => ({
    logs: kindsUsed.map((kind, n) => ({ name: names[n]!, path: kind[k]!.log.path })),
    configuration: null,
    block: dayOf(log.start),
    left: null,
  }));
  const used = new Set(kindsUsed.flat().map(({ log }) => log.path));
  const left = found
    .filter(({ log }) => !used.has(log.path))
    .map(
      ({ log }): RunDraft => ({
        logs: [{ name: null, path: log.path }],
        configuration: null,
        block: null,
        left: log.same_as !== null ? `the same bytes as ${log.same_as}` : (log.error ?? "holds other signals"),
      }),
    );
  const drafts = kindsUsed.map((kind, n): LogDraft => {
    const { signals = [], unknown = [] } = kind[0] ?? {};
    return { name: names[n]!, signals: pair === null ? signals : shareOf(signals, n === 0), unknown };
  });
  return manifestDraft(drafts, [...runs, ...left]);
}

type Kind = readonly {
  readonly log: FolderLog;
  readonly signals: readonly SignalDraft[];
  readonly unknown: LogDraft["unknown"];
}[];

/** Two kinds go together where one holds poses but no setpoint, the capture, and the other has the setpoint. */
function asPair(a: Kind, b: Kind): readonly [Kind, Kind] | null {
  const has = (kind: Kind, signal: SignalDraft["signal"]): boolean =>
    kind[0]?.signals.some((draft) => draft.signal === signal) === true;
  const isCapture = (kind: Kind): boolean => has(kind, "vehicle_pose") && !has(kind, "vehicle_setpoint");
  if (isCapture(a) && has(b, "vehicle_setpoint")) return [a, b];
  return isCapture(b) && has(a, "vehicle_setpoint") ? [b, a] : null;
}

/** Of a pair the capture gives the poses and the other all else; what the other takes for the vehicle's pose is its estimate. */
function shareOf(signals: readonly SignalDraft[], isCapture: boolean): readonly SignalDraft[] {
  const poses: readonly string[] = ["vehicle_pose", "effector_pose"];
  if (isCapture) return signals.filter(({ signal }) => poses.includes(signal));
  const hasEstimate = signals.some(({ signal }) => signal === "vehicle_estimate");
  return signals.flatMap((draft) =>
    !poses.includes(draft.signal)
      ? [draft]
      : draft.signal === "vehicle_pose" && !hasEstimate
        ? [{ ...draft, signal: "vehicle_estimate" as const }]
        : [],
  );
}

/** The day of a log that begins at a date: what suggests itself as a block. */
function dayOf(start: string | null): string | null {
  const milliseconds = start === null ? 0 : Number(BigInt(start) / 1_000_000n);
  return milliseconds > 1e12 && milliseconds < 8.64e15
    ? `day-${new Date(milliseconds).toISOString().slice(0, 10)}`
    : null;
}
