import { basename, dirname, join, resolve } from "node:path";
import { benchChannels } from "../contract/benchDeclaration.ts";
import type { FolderInspection, LogInspection } from "../contract/inspection.ts";
import { CounterpoiseError, LogError } from "../foundation/errors.ts";
import { filesOfLog } from "../readers/LogReader.ts";
import { folderDraft } from "./inspect/folderDraft.ts";
import { type FoundLog, foundLog, unreadLog } from "./inspect/foundLog.ts";
import { logsIn } from "./inspect/logsIn.ts";
import { withCopies } from "./inspect/pairLogs.ts";
import { runsTableIn } from "./inspect/runsTable.ts";
import { lookAtLog } from "./inspectLog.ts";
import { sha256Of } from "./sha256Of.ts";

/** What the journey needs from outside. Tests pass their own. */
export interface FolderEffects {
  readonly lookAtLog: (path: string, likely: readonly number[]) => ReturnType<typeof lookAtLog>;
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
 * @param options.prefix         from the manifest to the folder; "" where it is to lie in it
 * @param options.definitions    folders of .msg files, for logs that hold no definitions of their types
 * @param options.toDefinitions  the same as the manifest names them
 * @throws LogError  code `log-unreadable`: the folder cannot be read, or holds no log
 */
export async function inspectFolder(
  folder: string,
  options: {
    onProgress?: (progress: FolderProgress) => void;
    effects?: FolderEffects;
    prefix?: string;
    definitions?: readonly string[];
    toDefinitions?: readonly string[];
  } = {},
): Promise<FolderInspection> {
  const effects = options.effects ?? {
    lookAtLog: (path, likely) => lookAtLog(path, undefined, options.definitions, likely),
    sha256: sumOfLog,
  };
  const { paths, others, skipped } = await logsIn(folder);
  const table = await runsTableIn(folder, paths);
  const found: FoundLog[] = [];
  const bench: string[] = [];
  let strangers = others;
  for (const [done, path] of paths.entries()) {
    options.onProgress?.({ done, total: paths.length, path });
    const one = path === table?.path ? null : await inspectOne(folder, path, effects, periodsOf(found));
    if (one === null) strangers++;
    else if (one === "bench") bench.push(path);
    else found.push(one);
  }
  for (const within of new Set(bench.map((path) => dirname(path)))) {
    const own = bench.filter((path) => dirname(path) === within);
    const path = own.length === 1 ? own[0]! : `${within}/`;
    skipped.push({ path, why: `${own.length} of a force sensor: a bench, which \`bench:\` of the manifest names` });
  }
  if (found.length === 0)
    throw new LogError(
      "log-unreadable",
      `found no log among ${strangers} file(s)${skipped.length === 0 ? "" : ` and ${skipped.length} that were not looked into (${skipped[0]!.path}: ${skipped[0]!.why})`}, expected some`,
      {
        place: folder,
        hint: "name the folder that holds the flight day's logs",
      },
    );
  const logs = await withCopies(folder, found, effects.sha256);
  return {
    schema: 1,
    folder,
    logs: logs.map(({ log }) => log),
    others: strangers,
    skipped,
    ...folderDraft(
      logs,
      {
        title: basename(resolve(folder)),
        prefix: options.prefix ?? "",
        definitions: options.toDefinitions ?? [],
      },
      table,
    ),
  };
}

/** How many of a day's trajectories are tried before a period is searched for. */
const mostLikely = 6;

/** Periods that were commanded in logs so far, the latest first, each once: most flights of a day are of few trajectories. */
function periodsOf(found: readonly FoundLog[]): readonly number[] {
  const periods: number[] = [];
  for (let k = found.length - 1; k >= 0 && periods.length < mostLikely; k--)
    for (const { shape } of found[k]!.flights) {
      const period = shape !== null && "period" in shape ? shape.period : null;
      if (period !== null && !periods.some((known) => Math.abs(known / period - 1) < 0.02)) periods.push(period);
    }
  return periods;
}

/** A table with three forces and three moments and nobody's pose. */
function isBench({ table }: Pick<LogInspection, "table">): boolean {
  if (table === null || table.proposals.some(({ signal }) => signal === "vehicle_pose")) return false;
  const names = table.columns.map(({ name }) => name.toLowerCase().replace(/[^a-z].*$/, ""));
  return benchChannels.every((channel) => names.includes(channel) || names.includes(channel.replace("m", "t")));
}

/** What is called so is meant to be a log: where it is of no known format, a person has to hear of it. */
const calledLog = /\.(bag|mcap|db3|ulg|c3d|parquet)(\.(zstd|active))?$/i;

/** null for what is no log and is not called one: a note, a licence. */
async function inspectOne(
  folder: string,
  path: string,
  effects: FolderEffects,
  likely: readonly number[],
): Promise<FoundLog | "bench" | null> {
  try {
    const { inspection, sights } = await effects.lookAtLog(join(folder, path), likely);
    if (isBench(inspection)) return "bench";
    return foundLog(path, inspection, sights);
  } catch (error) {
    if (!(error instanceof CounterpoiseError)) throw error;
    if (!calledLog.test(path) && /^found (text|a file) that starts with/.test(error.message)) return null;
    return unreadLog(path, error.message);
  }
}

/** What is in a log, whatever it is called: the sum of its file, or of the parts of its folder. */
async function sumOfLog(path: string): Promise<string> {
  const files = await filesOfLog(path);
  const parts = files.filter((file) => file === path || /\.(db3(-wal|-journal)?|mcap)(\.zstd)?$/i.test(file));
  return parts.map(sha256Of).join(" ");
}
