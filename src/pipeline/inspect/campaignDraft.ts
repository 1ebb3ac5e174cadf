import type { CommandShape, DraftSummary } from "../../contract/inspection.ts";
import type { CampaignSketch, LogDraft, RunDraft, TrajectoryDraft } from "../../report/draft/CampaignSketch.ts";
import { manifestDraft } from "../../report/draft/manifestDraft.ts";
import { summariseDraft } from "../../report/draft/summariseDraft.ts";
import { groupShapes, type ShapeGroup } from "./groupShapes.ts";
import type { FiledRow, RunsTable } from "./runsTable.ts";
import { baselineOf, batteriesIn, splitNames } from "./splitNames.ts";

/** The text of a manifest, and what stands in it. */
export interface Draft {
  readonly manifest: string;
  readonly summary: DraftSummary;
}

/** What a draft needs beside the logs. */
export interface DraftPlace {
  /** what the campaign may be called */
  readonly title: string;
  /** from the manifest to the folder of the logs; "" where it lies in it */
  readonly prefix: string;
  /** folders of .msg files that the logs need, as the manifest names them */
  readonly definitions: readonly string[];
}

/** A run before it is filed. */
export interface FlownRun extends Pick<RunDraft, "logs" | "span"> {
  readonly start: string | null;
  readonly shape: CommandShape | null;
  readonly words: readonly string[];
}

/** A log that is no run, and why. */
export interface LeftOut {
  readonly path: string;
  readonly why: string;
}

/** What the runs of a draft have in common. */
type Shared = Pick<CampaignSketch, "statics" | "pairedBy" | "sight" | "gyroApart" | "up"> & {
  readonly place: DraftPlace;
  readonly table: RunsTable | null;
};

/**
 * Files runs by what was commanded, by day and pack, and by what their names tell of their configurations; or as a table beside the
 * logs files them.
 */
export function campaignDraft(
  logs: readonly LogDraft[],
  runs: readonly FlownRun[],
  left: readonly LeftOut[],
  { statics, place, table, pairedBy, sight, gyroApart, up }: Shared,
): Draft {
  const rows = table === null ? null : rowsOf(table, runs);
  const groups = groupShapes(runs.map(({ shape }) => shape));
  const trajectories = runs.map((_, k) => groups.find((group) => group.runs.includes(k))!);
  const batteries = batteriesIn(runs.map((run) => run.logs.map(({ path }) => path).join(" ")));
  const days = runs.map(dayOf);
  const blocks = blocksOf(days, batteries);
  const ways = [
    trajectories.map(({ name }) => name),
    days.map((day) => day ?? ""),
    batteries.map((pack) => pack ?? ""),
  ];
  const splits = logs.map((_, which) => {
    const paths = runs.map((run) => run.logs[which]!.path);
    return splitNames(paths, ways);
  });
  const split = splits.find((each) => each !== null) ?? null;
  const words = rows?.map((row) => row?.configuration ?? null) ?? split?.words ?? null;
  const names = words === null ? [] : [...new Set(words)].filter((word) => word !== null);
  const at = (path: string): string => (place.prefix === "" ? path : `${place.prefix}/${path}`);
  const flown = new Map<string, number>();
  const sketch: CampaignSketch = {
    title: place.title,
    definitions: place.definitions,
    logs,
    configurations: names.length < 2 ? null : { names, baseline: split?.baseline ?? baselineOf(names) },
    trajectories: rows === null ? groups : tabled(rows, groups),
    table: rows === null ? null : at(table!.path),
    runs: runs.map(({ logs: of, span, start, words: own }, k) => {
      const path = of[0]!.path;
      const count = (flown.get(path) ?? 0) + 1;
      flown.set(path, count);
      const apart = trajectories[k]!.apart.get(k);
      const row = rows?.[k];
      return {
        logs: of.map(({ name, path: one }) => ({ name, path: at(one) })),
        id: span === null ? null : `${stemOf(path)}-${count}`,
        span,
        configuration: words?.[k] ?? null,
        trajectory: row?.trajectory ?? trajectories[k]!.name,
        block: blocks[k]!,
        battery: batteries[k]!,
        started: span === null ? startOf(start) : null,
        remark:
          [
            ...own,
            ...(rows !== null && row === null ? [`not in ${table!.path}`] : []),
            ...(row == null ? [] : otherThanTabled(k, rows!, trajectories)),
            ...(apart === undefined ? [] : [apart]),
          ].join("; ") || null,
      };
    }),
    left: left.map(({ path, why }) => ({ path: at(path), why })),
    statics: statics.map(at),
    pairedBy,
    sight,
    gyroApart,
    up,
  };
  const manifest = manifestDraft(sketch);
  return { manifest, summary: summariseDraft(sketch, manifest) };
}

/** The row of each run; null where the table lists less than half of them: then it is about something else. */
function rowsOf(table: RunsTable, runs: readonly FlownRun[]): (FiledRow | null)[] | null {
  const rows = runs.map(
    ({ logs }) => table.rows.find((row) => logs.some(({ path }) => row.logs.includes(path))) ?? null,
  );
  return 2 * rows.filter((row) => row !== null).length < rows.length ? null : rows;
}

/** Trajectories by the table's names, each with the shape that most of its runs were commanded. */
function tabled(rows: readonly (FiledRow | null)[], groups: readonly ShapeGroup[]): TrajectoryDraft[] {
  const names = [...new Set(rows.flatMap((row) => (row === null ? [] : [row.trajectory])))];
  return names.map((name) => {
    const runs = rows.flatMap((row, k) => (row?.trajectory === name ? [k] : []));
    const shared = (group: ShapeGroup): number => group.runs.filter((k) => runs.includes(k)).length;
    const most = groups.reduce((best, group) => (shared(group) > shared(best) ? group : best));
    return { name, shape: most.shape, runs: runs.filter((k) => most.runs.includes(k)) };
  });
}

/** What a run was commanded where most of its trajectory by the table were commanded something else. */
function otherThanTabled(k: number, rows: readonly (FiledRow | null)[], shapes: readonly ShapeGroup[]): string[] {
  const like = rows.flatMap((row, i) => (row?.trajectory === rows[k]!.trajectory ? [shapes[i]!] : []));
  const same = like.filter((group) => group === shapes[k]).length;
  return 2 * same > like.length ? [] : [`${shapes[k]!.name} commanded, filed as ${rows[k]!.trajectory}`];
}

/** Days are blocks; within one day, packs are, where each flew twice or more. */
function blocksOf(days: readonly (string | null)[], batteries: readonly (string | null)[]): readonly (string | null)[] {
  const packs = [...new Set(batteries)];
  const isOneDay = new Set(days).size === 1;
  const eachTwice = packs.every((pack) => pack !== null && batteries.filter((each) => each === pack).length > 1);
  return isOneDay && packs.length > 1 && eachTwice ? batteries : days;
}

function stemOf(path: string): string {
  return (path.split(/[/\\]/).at(-1) ?? path).replace(/(?<=.)\.[^.]*$/, "");
}

/** The day of a log that begins at a date or bears one in its name: what suggests itself as a block. */
function dayOf({ start, logs }: FlownRun): string | null {
  const begun = startOf(start);
  if (begun !== null) return `day-${begun.slice(0, 10)}`;
  const found = /(20\d\d)[-_.]?(\d\d?)[-_.]?(\d\d?)(?!\d)/.exec(logs.map(({ path }) => path).join(" "));
  if (found === null) return null;
  const [year, month, day] = found.slice(1).map(Number);
  const isDate = month! >= 1 && month! <= 12 && day! >= 1 && day! <= 31;
  return isDate ? `day-${year}-${String(month).padStart(2, "0")}-${String(day).padStart(2, "0")}` : null;
}

/** ISO 8601; null for a log that counts from its own start. */
function startOf(start: string | null): string | null {
  const milliseconds = start === null ? 0 : Number(BigInt(start) / 1_000_000n);
  return milliseconds > 1e12 && milliseconds < 8.64e15 ? `${new Date(milliseconds).toISOString().slice(0, 19)}Z` : null;
}
